def available(): return False

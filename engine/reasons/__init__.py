"""What an outcome rests on and nothing else: its reason, found by withholding the rest."""

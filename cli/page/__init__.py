"""The survey as a page: one screen in plain HTML, shown by a server or by a page without one."""

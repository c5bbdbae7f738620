"""The survey as a page: one screen in plain HTML, shown by a server here or by a page that needs none."""

"""A job asked for one card at a time, and the file that comes of it."""

"""A job read and run: emitted code, two chainers, and what is kept between starts."""

"""The terminal program."""

__version__ = "0.1.0"  # as in pyproject.toml; tests/test_packaging.py compares them

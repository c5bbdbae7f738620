"""The pieces of a line, by what they are about: a kind of piece is one class."""

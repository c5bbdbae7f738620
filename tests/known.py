"""The shipped knowledge with its examples, read once a process for the tests that change nothing of
it.
"""

from functools import cache

from whywire.engine.language.knowledge import Knowledge
from whywire.engine.law.library import load


@cache
def known(edition: str = "2023") -> Knowledge:
    """What is in force in *edition* with no pack but the base."""
    return load((), edition)

"""A form: the keys that a mapping in a file may have, each with what it is for and what may stand
there, declared once for whoever reads the file and for whoever helps to write it.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from .errors import Collector, Fault, Place, suggest
from .reading import place_of

# What may stand at a key. A schema says of each what that is in its own terms.
LINE = "a line"
PROSE = "a line that nobody reads but a person"
LISTED = "a line, or a list of lines"
LINES = "lines by name"
SECTIONS = "sections by edition"
DAY = "a day"
YES_NO = "yes or no"
EDITION = "an edition"
FORCE = "must or should"
KIND = "a kind of thing"
DOER = "who does it"
OF_WORK = "a line of the work, seen where that is put as facts"
CONDITION = "a condition"
CONDITIONS = "conditions"
RULES = "the name of a rule, or several"
# a schema must say itself what this is: nothing is left loose without a word
OTHER = "what is seen where it is read"


class Key(NamedTuple):
    """One key of a form."""

    about: str = ""  # what it is for, to who writes one
    takes: str = LINE
    todo: str = ""  # what to write where something else stands there


class Form(dict[str, Key]):
    """The keys that a mapping of one sort may have, in the order in which they are told."""

    def __init__(self, takes_no: str, code: str, keys: dict[str, Key]) -> None:
        # a dict, so that a form is asked as one: is this a key, which are there, in which order
        super().__init__(keys)
        self.takes_no, self.code = takes_no, code

    def of(self, *takes: str) -> tuple[str, ...]:
        """The keys at which one of these stands.

        >>> Form("a pack takes no", "pack-key", {"cite": Key(), "from": Key("", DAY)}).of(DAY)
        ('from',)
        """
        return tuple(name for name, key in self.items() if key.takes in takes)

    def strange(self, said: Iterable[str]) -> list[str]:
        """What stands in *said* and is no key of the form."""
        return [key for key in said if key not in self]

    def fault(self, key: str, at: Place = Place(), of: str = "") -> Fault:
        """That *key* is none: at its own place, or *at* one; *of* says whose it is."""
        whose = f"{of}: " if of else ""
        return Fault(
            self.code, place_of(key, at), f'{whose}{self.takes_no} "{key}"', suggest(str(key), self)
        )

    def see(
        self, said: Iterable[str], faults: Collector, at: Place = Place(), of: str = ""
    ) -> None:
        """Note every key that stands in *said* and is none."""
        for key in self.strange(said):
            faults.take(self.fault(key, at, of))

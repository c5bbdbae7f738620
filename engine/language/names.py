"""Names that were others before: a rule, a fact or a choice that was renamed answers to its old
name, and whoever writes it so is told the new one.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import NamedTuple

from ..basics.errors import Collector, Place
from ..basics.reading import Mapping, Piece, Text, as_list, place_of

FORMERLY = "formerly"
# where a rule or an edit names other rules: in a list, or by itself
_LISTS = ("exception to", "leaving out", "also", "instead of")
_OF_ANSWERS = ("argued", "beside")
_OF_EXAMPLES = ("rule", "sets aside")
_BY_RULE = ("says", "because", "limits")  # of an edit of a value: a sentence for each rule


class OldName(NamedTuple):
    """An old name that somebody wrote."""

    at: Place
    old: str
    new: str

    def __str__(self) -> str:
        return f'"{self.old}" is called "{self.new}" now (at {self.at}); the old name still works.'


class OldNames:
    """The old names of the rules that were read, and who wrote one."""

    def __init__(self) -> None:
        self.present: dict[str, str] = {}  # an old name -> the present one
        self.written: list[OldName] = []

    def read(self, items: Iterable[tuple[Mapping, str]], faults: Collector) -> None:
        """Take the old names of *items*, each with its present name; an old name that is somebody's
        present name, or that two claim, is a fault.
        """
        every = [(d, name) for d, name in items]
        names = {name: d for d, name in every}
        for d, name in every:
            for old in as_list(d.get(FORMERLY)):
                # that it is text is seen where the rule is read
                if not isinstance(old, str):
                    continue
                owner = ""
                if str(old) in names:
                    owner = f"the name of what is at {place_of(names[str(old)])}"
                elif self.present.get(str(old), name) != name:
                    owner = f"an old name of {self.present[str(old)]}"
                if owner:
                    faults.add(
                        "old-name-in-use",
                        place_of(old, place_of(d)),
                        f'{name} was formerly "{old}", and that is {owner}',
                        "an old name means one thing: leave it out, or rename the other",
                    )
                    continue
                self.present[str(old)] = name

    def brought_up_to_date(self, d: Mapping, verbs: Iterable[str] = ()) -> None:
        """Put the present names where a rule, or an edit that begins with one of *verbs*, has old
        ones; each is noted.
        """
        if not self.present:
            return
        self._under((*verbs, *_LISTS), d)
        for key in _BY_RULE:
            if isinstance(d.get(key), dict):
                self._keys(d[key])
        if verbs and isinstance(d.get("meaning"), str):
            d["meaning"] = self._said(d["meaning"])
        self._under(_OF_ANSWERS, d.get("answers"))
        for example in as_list(d.get("examples")):
            self._under(_OF_EXAMPLES, example)

    def _under(self, keys: Iterable[str], d: Piece) -> None:
        """Put the present names of what *d*, if it is a mapping, names under some keys."""
        for key in keys if isinstance(d, dict) else ():
            if key in d:
                d[key] = self._named(d[key])

    def _named(self, said: Piece) -> Piece:
        """What names a rule, or several, by their present names."""
        if isinstance(said, list):
            said[:] = [self._named(one) for one in said]
            return said
        new = self.present.get(said) if isinstance(said, str) else None
        if new is None:
            return said
        self.written.append(OldName(place_of(said), str(said), new))
        return Text(new, place_of(said))

    def _said(self, sentence: str) -> Text:
        """A sentence with the present names of the rules in it."""
        words = (self.present.get(word, word) for word in re.split(r"((?:[\w]|-)+)", sentence))
        return Text("".join(words), place_of(sentence))

    def _keys(self, said: dict[str, Piece]) -> None:
        """A mapping whose keys name rules, by their present names, in the order it had."""
        if not any(key in self.present for key in said):
            return
        entries = [(self._named(key), value) for key, value in said.items()]
        said.clear()
        said.update(entries)

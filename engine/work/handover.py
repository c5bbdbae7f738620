"""What is said to people of the things of a job, by tables of the knowledge: how to turn off what
was put in, what to test, what its labels say; what an offer leaves out.
"""

from __future__ import annotations

from typing import Any

from ..answering.sentences import FACT
from ..language.tables import Row as TableRow
from ..language.things import Thing
from ..proving.wording import plain, short, show, unit_shown
from .opening import Opened

HANDED, LEFT_OUT = "handing-over", "left-out"
ANY, NO_CELL = "*", "-"
NAME, IN_CAPITALS = "name", "NAME"


def answer_to(ask: str) -> str:
    """How a fact is said of which the knowledge has no sentence: by its question."""
    return f"the answer to “{ask}” is "


class Sayings:
    """Reads what a table says of the things of a job as it stands, or as it is to be built."""

    def __init__(self, job: Opened, table: str, built: bool = False) -> None:
        self.knowledge, self.table = job.knowledge, table
        self.world = job.world if built else job.told.standing.world

    def parts(self) -> dict[str, list[str]]:
        """Part of the sheet -> what is said there."""
        out: dict[str, list[str]] = {}
        said: set[tuple[str, str]] = set()  # (group, thing) of which something was said
        for row in self.knowledge.tables[self.table].rows:
            lines = out.setdefault(str(row["part"]), [])
            for thing in self.world.by_kind.get(str(row["about"]), ()):
                once = str(row["group"]), thing[0].id
                if once[0] != NO_CELL and once in said or not self.so(row, thing):
                    continue
                text = self._filled(str(row["says"]), thing)
                if text is not None:
                    said.add(once)
                    lines.append(text)
        return {part: list(dict.fromkeys(lines)) for part, lines in out.items()}

    def so(self, row: TableRow, thing: Thing) -> bool:
        """Whether everything is known to be so that a row asks for."""
        if row["when"] == NO_CELL:
            return True
        tests = [test.strip() for test in str(row["when"]).split(";")]
        return all(self._holds(thing, *test.split(" is ", 1)) for test in tests)

    def _holds(self, thing: Thing, path: str, wanted: str) -> bool:
        said = self.said(thing, path)
        return said is not None and (wanted == ANY or said in wanted.split("|"))

    def said(self, thing: Thing, path: str) -> str | None:
        """What `fact of part of ...` is of a thing, in words; None where it is not known."""
        if path in (NAME, IN_CAPITALS):
            called = short(thing)
            return called.upper() if path == IN_CAPITALS else called
        names = path.split(" of ")
        holder: Any = thing
        for name in reversed(names[1:]):
            word = self.knowledge.words.kinds[holder[0].kind].words[name]
            holder = holder[word.slot]
            if not isinstance(holder, list) or not holder:
                return None
        if names[0] == NAME:
            return short(holder)
        word = self.knowledge.words.kinds[holder[0].kind].words[names[0]]
        value = holder[word.slot]
        if isinstance(value, bool):
            return "yes" if value else "no"
        if not isinstance(value, str) and not plain(value):
            return None
        return str(show(value, unit_shown(holder, names[0], word.unit)))

    def _filled(self, text: str, thing: Thing) -> str | None:
        """A sentence with its facts; None where one of them is not known."""
        facts = {name: self.said(thing, name) for name in FACT.findall(text)}
        if None in facts.values():
            return None
        return FACT.sub(lambda found: str(facts[found[1]]), text)

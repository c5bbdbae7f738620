"""Words of a job that nobody knows: a near miss of a known word is refused with what may have been
meant, anything else is kept and shown, and no rule uses it.

A person describes a real job in his own words; that one of them is not known here is no reason to
look at nothing. A misspelt word is: what it says would be lost.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple

from ..basics.errors import HINTS, Fault, Place, near_misses, nearest, suggest, turned
from ..language.knowledge import Knowledge
from ..language.words import Kind, Word, a_noun

NAMING = ("name", "id", "title")
MOST_SHOWN = 200  # characters of what is kept


class AlsoSaid(NamedTuple):
    """What a person said of a thing that no rule knows."""

    of: str
    key: str  # "" where it stood among the values of a thing
    text: str
    at: Place

    def as_dict(self) -> dict[str, Any]:
        return {"of": self.of, "is": self.key, "value": self.text, "at": str(self.at)}


def text_of(value: Any) -> str:
    """A value as it could have been written on one line."""
    if isinstance(value, dict):
        inner = ", ".join(f"{key}: {text_of(one)}" for key, one in value.items())
        text = f"{{{inner}}}"
    elif isinstance(value, list):
        text = f"[{', '.join(map(text_of, value))}]"
    else:
        text = " ".join(str(value).split())
    return text if len(text) <= MOST_SHOWN else text[: MOST_SHOWN - 2] + " …"


class Unknown:
    """What to do with a key that is no name of a fact, for each kind of thing."""

    def __init__(self, knowledge: Knowledge, frame: tuple[str, ...]) -> None:
        self.kinds, self.frame = knowledge.words.kinds, frame
        self._sayable: dict[str, list[str]] = {}

    def sayable(self, kind: Kind) -> list[str]:
        """What a person may say of a thing of that kind: no fact that only rules give."""
        names = self._sayable.get(kind.name)
        if names is None:
            said = {
                w.name
                for w in kind.words.values()
                if w.ask or w.part or w.type[0] == "ref" and w.name not in self.kinds
            }
            said |= {*kind.tells}
            names = [*said, *(alias for alias, name in kind.aliases.items() if name in said)]
            if kind.name == "job":
                names += self.frame
            self._sayable[kind.name] = names = sorted(names)
        return names

    def refused(
        self, kind: Kind, whole: Kind | None, name: str, of: str, at: Place
    ) -> Fault | None:
        """The fault that *name* is for a thing of that kind; None where it is to be kept."""
        todo = self._meant(kind, whole, name)
        if not todo:
            return None
        return Fault("unknown-key", at, f'{a_noun(kind.name)} has no "{name}" (in {of})', todo)

    def _meant(self, kind: Kind, whole: Kind | None, name: str) -> str:
        if name.lower() in NAMING:
            if kind.name == "job":
                return "what all of it is called is written job: Kiln in the studio"
            return "the name of a thing stands before it, as in segments: {attic: {...}}"
        known = self.sayable(kind)
        near = near_misses(name, known)
        hint = suggest(name, near, 0) if near else ""
        # a slip of one letter is that word, even where a part of the thing has a word like it
        if hint.startswith(HINTS[0]):
            return hint
        elsewhere = self._told_elsewhere(kind, whole, name)
        if elsewhere:
            return elsewhere
        if near:
            if hint.startswith(HINTS):
                return hint
            return nearest_here(name, [n for n in near if not turned(name, n)], known)
        return ""

    def _told_elsewhere(self, kind: Kind, whole: Kind | None, name: str) -> str:
        """Where to tell what is a fact of a part of the thing, or of what it is a part of."""
        where = []
        for word in kind.words.values():
            if word.part and self._known(word.type[1], name):
                listed = word.part in ("many", "open")
                where.append(f"{word.name}: " + ("[{%s: ...}]" if listed else "{%s: ...}") % name)
        where += [
            f"{part}: {{{fact}: {choice}}}" for part, fact, choice in self._choices(kind, name)
        ]
        if whole is not None and whole.name != "job" and self._known(whole.name, name):
            where.append(f"{name}: of the {whole.name}, beside the {kind.name}")
        if not where:
            return ""
        return f'"{name}" is told elsewhere: write ' + ", or ".join(where[:5])

    def _choices(self, kind: Kind, name: str) -> Iterator[tuple[str, str, str]]:
        """The choices of a thing's parts that somebody may have meant: (part, fact, choice). What
        names a thing is none of another thing's, unless it names the part itself: a ground rod is
        an electrode, and not where a receptacle's added ground comes from.
        """
        named = self._names_a_thing(name)
        for part in kind.words.values():
            if part.part not in ("one", "optional"):
                continue
            for word in self.kinds[part.type[1]].words.values():
                choice = _choice_called(word, name)
                if choice and (not named or word.name in self.kinds[part.type[1]].said_alone):
                    yield part.name, word.name, choice

    def _names_a_thing(self, name: str) -> bool:
        """Whether some kind of thing is told by this name alone."""
        return any(
            _choice_called(kind.words[fact], name)
            for kind in self.kinds.values()
            for fact in kind.said_alone
            if fact in kind.words
        )

    def _known(self, kind: str, name: str) -> bool:
        words = self.kinds[kind]
        found = words.aliases.get(name, name)
        return found in self.sayable(words)


def _choice_called(word: Word, name: str) -> str:
    """The choice that people call so, of a fact that they are asked for; else nothing."""
    if word.type[0] != "choice" or not word.ask:
        return ""
    called = {choice.lower(): choice for choice in word.type[1]}
    called |= {said.lower(): choice for said, choice in word.means.items()}
    return called.get(name.lower(), "")


def spoken_of(kind: Kind, texts: Iterable[str]) -> list[str]:
    """The choices of what *kind* speaks of (`spoken`) that are named in one of *texts*."""
    word = kind.words[kind.spoken]
    means = {choice.lower(): choice for choice in word.type[1]}
    means |= {said.lower(): choice for said, choice in word.means.items()}
    # the longest first, or `hot tub heater` would be found as a heater
    names = sorted(map(re.escape, means), key=len, reverse=True)
    pattern = re.compile(rf"(?<![\w-])({'|'.join(names)})(?:e?s)?(?![\w-])", re.IGNORECASE)
    found = (means[hit.lower()] for text in texts for hit in pattern.findall(text))
    return list(dict.fromkeys(found))


def nearest_here(name: str, near: list[str], known: list[str]) -> str:
    """The five names nearest to one that is none, those that it may be a slip of first."""
    first = nearest(name, near)
    rest = [n for n in nearest(name, known, 10) if n not in first]
    return "nearest here: " + ", ".join(f'"{n}"' for n in [*first, *rest][:5])


def merged(faults: list[Fault]) -> list[Fault]:
    """The same slip in several places told once, with the other lines that it stands in."""
    seen: dict[tuple[str, str, str], list[Fault]] = {}
    out = []
    for fault in faults:
        if fault.code not in ("unknown-key", "not-a-choice"):
            out.append(fault)
            continue
        what = fault.what.partition(" (in ")[0]
        alike = seen.setdefault((fault.code, what, fault.todo), [])
        if not alike:
            out.append(fault)
        alike.append(fault)
    for alike in seen.values():
        # a slip made once is copied with the circuit it stands in: told once, with the other lines
        lines = sorted({f.at[1] for f in alike[1:]} - {alike[0].at[1]})
        if lines:
            also = ", ".join(map(str, lines[:5])) + (" and more" if len(lines) > 5 else "")
            first = alike[0]
            new = Fault(first.code, first.at, first.what, f"{first.todo} (also in line {also})")
            out[out.index(first)] = new
    return out

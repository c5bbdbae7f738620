"""The vocabulary as a person looks it up: a word or a choice by what people call it, and how it is
said in a job.

A search over the vocabulary's own texts: names, other names, choices, questions, where to look. It
is exact and small: each word of a phrase counts by how rare it is among all texts, and by where it
stands. Nothing is learnt and nothing guessed; what ranks before what can be followed by hand.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from ..basics.errors import nearest
from ..basics.units import POINTS, UNITS, WRITTEN, dimension
from .entries import entries
from .knowledge import Knowledge
from .order import reads_of
from .words import Kind, Word, a_noun

# how much a word of a phrase counts by where it stands
CALLED, CHOSEN, ASKED, LOOKED, OF = 6.0, 3.0, 2.5, 1.5, 1.5
WHOLE = 12.0  # the phrase is one of its names
ONLY_RULES = 0.5  # of a fact that nobody can be asked
SPOKEN = frozenset(
    "a an and are at be by can do does for from get gets have how i if in is it its many me much my"
    " need of on one or say says the there they this to what when where which with you your".split()
)
EXAMPLES = {"date": "2025-09-02", "text": "..."}


@dataclass
class Found:
    """One word of the vocabulary, and how well a phrase fits it."""

    kind: Kind
    word: Word
    score: float = 0.0

    @property
    def name(self) -> str:
        return f"{self.word.name} of {self.kind.name}"


@dataclass
class _Texts:
    """What stands about one word, by how much it counts: (weight, its words)."""

    found: Found
    fields: list[tuple[float, frozenset[str]]] = field(default_factory=list)
    names: set[tuple[str, ...]] = field(default_factory=set)
    kind: frozenset[str] = frozenset()
    readers: int = 0


def stem(word: str) -> str:
    """A word without the ending that its number or its tense gives it.

    >>> stem("staples"), stem("bundled"), stem("wiring"), stem("boxes"), stem("glass")
    ('stapl', 'bundl', 'wir', 'box', 'glass')
    """
    word = word.lower()
    for ending in ("ing", "ies", "es", "ed", "s", "e", "y"):
        rest = word[: -len(ending)]
        if word.endswith(ending) and len(rest) >= 3 and not (ending == "s" and rest[-1] == "s"):
            return rest
    return word


def stems(text: str) -> tuple[str, ...]:
    """The words of *text* that say something, each as its stem."""
    words = re.findall(r"[^\W_]+(?:[/.][\dA-Za-z]+)*", text.lower())
    return tuple(stem(word) for word in words if word not in SPOKEN) or tuple(map(stem, words))


class Lexicon:
    """The words of a knowledge, to be looked up."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.k = knowledge
        self._texts = [
            self._about(kind, word)
            for kind in knowledge.words.kinds.values()
            for word in kind.words.values()
            if word.type[0] != "ref" or word.part or word.ask
        ]
        self._by_token: dict[str, list[_Texts]] = {}
        for texts in self._texts:
            for token in frozenset().union(*(tokens for _, tokens in texts.fields)):
                self._by_token.setdefault(token, []).append(texts)
        self._ways: dict[str, list[tuple[str, bool]]] = {}
        self._read = self._readers()
        read = self._read
        for texts in self._texts:
            texts.readers = read.get((texts.found.kind.name, texts.found.word.name), 0)
        every = len(self._texts)
        self._rare = {t: math.log(every / len(at)) + 0.5 for t, at in self._by_token.items()}

    def _readers(self) -> dict[tuple[str, str], int]:
        """How many rules read each fact: what much hangs on is what people mostly mean."""
        read: dict[tuple[str, str], int] = {}
        for rule in self.k.rules.values():
            for at in {(r[0], r[1]) for r in reads_of(rule, self.k.words)}:
                read[at] = read.get(at, 0) + 1
        return read

    def _about(self, kind: Kind, word: Word) -> _Texts:
        texts = _Texts(Found(kind, word))
        also = [a for a, name in kind.aliases.items() if name == word.name]
        names = [word.name, *also, *([word.called] if word.called else [])]
        if word.part:  # what a part is called is what its kind is called
            part = self.k.words.kinds[word.type[1]]
            names += [part.name, *part.also]
        for name in names:
            texts.names.add(tuple(sorted(stems(name))))
            # its name and what it is told of, however common the words of both are
            for of in (kind.name, *kind.also):
                texts.names.add(tuple(sorted(stems(f"{name} {of}"))))
            texts.fields.append((CALLED, frozenset(stems(name))))
        choices = word.type[1] if word.type[0] == "choice" else ()
        for said in (*choices, *word.means, *word.may_mean, *word.brings):
            texts.fields.append((CHOSEN, frozenset(stems(said))))
        texts.kind = frozenset(stems(" ".join([kind.name, *kind.also])))
        texts.fields.append((OF, texts.kind))
        texts.fields.append((ASKED, frozenset(stems(f"{word.ask} {word.design}"))))
        looked = f"{word.look} {' '.join(_units(word))}"
        texts.fields.append((LOOKED, frozenset(stems(looked))))
        return texts

    def find(self, phrase: str, most: int = 5) -> list[Found]:
        """The words that a phrase may mean, the likeliest first; none where it has none of
        theirs.
        """
        asked = stems(phrase[:200])
        found = []
        could = {id(t): t for token in asked for t in self._by_token.get(token, ())}
        for texts in could.values():
            score = self._score(asked, texts)
            kind, word = texts.found.kind, texts.found.word
            called = word.called.removeprefix("the ")
            # letter by letter one of its names, or its own with that of its kind: before what only
            # has the same stems
            whole = (f"{word.name} {kind.name}", f"{word.name} of {kind.name}")
            if phrase.strip().lower() in (
                name.lower() for name in (word.name, called, *whole, *self.also(kind, word))
            ):
                score += WHOLE
            if score:
                found.append(Found(kind, word, score))
        written = self._by_form(phrase)
        found = [*written, *(f for f in found if f.name not in {w.name for w in written})]
        found.sort(key=lambda f: (-f.score, f.word.effort, f.name))
        return found[:most]

    def _by_form(self, phrase: str) -> list[Found]:
        """The facts that a piece of the phrase says by a form in which people write several of
        them: the size and the wires of 12/2.
        """
        found: dict[str, Found] = {}
        # where things of two kinds are written alike, the one that more rules read is mostly meant
        read = {name: 0 for name in self.k.words.kinds}
        for (name, _), count in self._read.items():
            read[name] += count
        for kind in sorted(self.k.words.kinds.values(), key=lambda kind: -read[kind.name]):
            for form in (form for form in kind.forms if len(form.named) > 1):
                for piece in phrase[:200].split():
                    match = re.fullmatch(form.pattern, piece, re.IGNORECASE)
                    # nothing but numbers: anything may stand for a fact in a form
                    if match is None or not all(said.isdigit() for said in match.groups()):
                        continue
                    for path in form.named:
                        if len(path) == 1 and path[0] in kind.words:
                            one = Found(kind, kind.words[path[0]], 4 * WHOLE - len(found))
                            found.setdefault(one.name, one)
        return list(found.values())

    def _score(self, asked: tuple[str, ...], texts: _Texts) -> float:
        """How well what is asked fits one word."""
        total = 0.0
        for token in asked:
            weights = [
                weight * (0.5 + 0.5 / len(tokens)) if weight >= CHOSEN else weight
                for weight, tokens in texts.fields
                if token in tokens
            ]
            # further places than the best say a little more
            total += (max(weights, default=0) + 0.1 * sum(weights)) * self._rare.get(token, 0)
        if not total:
            return 0.0
        if tuple(sorted(asked)) in texts.names:
            total += WHOLE
        elif len({*asked} & texts.kind) > 1:
            total += WHOLE / 2
        total *= 1 + math.log(1 + texts.readers) / 12
        word = texts.found.word
        return total if word.ask or word.part else total * ONLY_RULES

    def nearest(self, phrase: str) -> list[str]:
        """The five names that look most like a phrase."""
        names = {
            name
            for texts in self._texts
            if texts.found.word.ask
            for name in (texts.found.word.name, *self.also(texts.found.kind, texts.found.word))
        }
        return nearest(phrase, names)

    def rules_and_tables(self, phrase: str, most: int = 3) -> list[tuple[str, str, str]]:
        """Rules, tables and values that a phrase may mean: (what it is, its name, its sentence)."""
        asked = {*stems(phrase[:200])}
        found = []
        for (sort, name), said in entries(self.k).items():
            sentence = str(said.get("says", said.get("is", "")))
            called = {*stems(name.replace("-", " "))}
            told = {*stems(sentence)}
            hits = len(asked & called) * 2 + len(asked & told)
            if name.replace("-", " ") == phrase.strip().lower().replace("-", " "):
                hits += 100
            if hits and asked <= called | told:
                found.append((-hits, len(called), name, sort, sentence))
        return [(sort, name, says) for _, _, name, sort, says in sorted(found)[:most]]

    # ---- what is said of one
    def example(self, kind: Kind, word: Word) -> str:
        """How a fact is told in a job, with an example of its value."""
        inner = f"{word.name}: {self.value_of(word)}"
        way = self.way_to(kind.name)
        for part, many in reversed(way):
            inner = f"{part}: " + (f"{{NAME: {{{inner}}}}}" if many else f"{{{inner}}}")
        return inner

    def value_of(self, word: Word) -> str:
        sort = word.type[0]
        if sort == "choice":
            return str(word.type[1][0])
        if sort == "row":
            order = self._rows(word)
            return order[len(order) // 3] if order else "..."
        if sort == "q":
            if word.unit == "date":
                return EXAMPLES["date"]
            if word.unit != "count":
                return f"10 {word.unit}"
            usual = word.usual
            if usual is None or usual.least <= 2:
                return "2"
            return str((int(usual.least) + int(usual.most)) // 2)  # a year is no 2
        if sort == "flag":
            return "yes"
        if word.part:
            return "[{...}]" if word.part in ("many", "open") else "{...}"
        return "NAME" if sort in ("ref", "many") else EXAMPLES["text"]

    def _rows(self, word: Word) -> list[str]:
        table = self.k.tables.get(word.type[1])
        if table is None:
            return []
        key = "size" if "size" in table.keys else next(iter(table.keys))
        return list(map(str, table.order(key)))

    def way_to(self, kind: str) -> list[tuple[str, bool]]:
        """The parts that lead from a job to a thing of that kind, the shortest way: (part, whether
        it is one of a list).
        """
        if kind in self._ways:
            return self._ways[kind]
        ways = self._ways = {"job": []}
        todo = ["job"]
        while todo:
            here = todo.pop(0)
            if here not in self.k.words.kinds:
                continue
            for word in self.k.words.kinds[here].words.values():
                if word.part and word.type[1] not in ways:
                    ways[word.type[1]] = [*ways[here], (word.name, word.type[0] == "many")]
                    todo.append(word.type[1])
        return ways.get(kind, [])

    def values(self, word: Word) -> str:
        """What may be told of a fact, in plain words."""
        sort = word.type[0]
        if sort == "choice":
            return "one of: " + ", ".join(word.type[1])
        if sort == "row":
            rows = self._rows(word)
            return f"a size of {word.type[1].replace('-', ' ')}: {rows[0]} to {rows[-1]}"
        if sort == "q":
            said = "a day" if word.unit == "date" else "a number"
            if word.unit not in ("count", "date"):
                said += f" in {word.unit}"
            return said + (f"; usual: {word.usual.said}" if word.usual else "")
        if sort == "flag":
            return "yes or no"
        if sort in ("ref", "many"):
            of = word.type[1]
            if word.part:
                return f"a list, each {a_noun(of)}" if sort == "many" else a_noun(of)
            return f"the name of {a_noun(of)}" + ("s, one or several" if sort == "many" else "")
        return "text"

    def also(self, kind: Kind, word: Word) -> list[str]:
        """What else people call it."""
        return [alias for alias, name in kind.aliases.items() if name == word.name]

    def meanings(self, word: Word) -> Iterator[tuple[str, str]]:
        """What people write for a choice, and the choice."""
        yield from word.means.items()
        for said, choices in word.may_mean.items():
            yield said, " or ".join(choices)

    def readers(self, kind: Kind, word: Word) -> list[str]:
        """The rules in force that read it."""
        return [
            rule.id
            for rule in self.k.rules.values()
            if any(r[0] == kind.name and r[1] == word.name for r in reads_of(rule, self.k.words))
        ]

    def overview(self) -> Iterator[tuple[Kind, list[str]]]:
        """The kinds of things that a job tells, after the job itself those that most rules read,
        each with what is asked of it: what most rules read goes first.
        """
        read = self._read
        kinds = [kind for kind in self.k.words.kinds.values() if not kind.spoken]
        weight = {k.name: sum(n for (of, _), n in read.items() if of == k.name) for k in kinds}
        # what most rules read is what most jobs have, however deep in a job it is told: a load
        # goes before a permit card
        for kind in sorted(kinds, key=lambda k: (k.name != "job", -weight[k.name], k.name)):
            asked = [w for w in kind.words.values() if w.ask]
            asked.sort(key=lambda w: (-read.get((kind.name, w.name), 0), w.effort))
            if asked:
                yield kind, [w.name for w in asked]


def _units(word: Word) -> Iterable[str]:
    """What people call the unit of a fact."""
    if word.type[0] != "q" or word.unit in (None, "count", "date"):
        return ()
    same = {u for u in [*UNITS, *POINTS] if u != "date" and dimension(u) == word.type[1]}
    return [*same, *(name for name, unit in WRITTEN.items() if unit in same)]

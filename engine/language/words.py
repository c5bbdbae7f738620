"""The vocabulary: every kind of thing a job has, every fact a thing may have, and what people call
them.

A type is a small tuple: ("q", dimension, unit) a number · ("flag",) yes or no ·
("choice", (word, ...)) · ("row", table) a row of a table · ("ref", kind) another thing ·
("many", kind) a list of things · ("text",).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from ..basics.errors import NOWHERE, Collector, Fault, Place, suggest
from ..basics.reading import Mapping, no_name, place_of, straight
from ..basics.units import POINTS, UNITS, Number, dimension, parse_quantity, unit_of
from .lines import RESERVED

ABOUT_A_WORD = (
    "is",
    "ask",
    "look",
    "effort",
    "also",
    "means",
    "may mean",
    "may be",
    "comes with",
    "back",
    "stands for",
    "try",
    "design",
    "careful",
    "note",
    "also choices",
    "none where",
    "usual",
)


@dataclass(frozen=True)
class Usual:
    """What is usual for a quantity: from *least* to *most* (in base units), or what a table lists
    and some more.
    """

    said: str
    least: Number = Decimal(0)
    most: Number = Decimal(0)
    table: str = ""
    more: tuple[Number, ...] = ()
    at: Place = NOWHERE


class Word:
    """One fact a thing may have. What most words are or have is said of the class, and of a word
    only where it differs.
    """

    slot = 0
    part = ""  # "", "one", "optional", "many", "open": a part of the whole
    up = False  # an upstream link
    down = False  # a downstream list
    back = ""  # this list holds the things whose fact `back` is this thing
    comes_with = ""
    may_be = ""
    ask = ""
    look = ""
    careful = ""  # the caution where looking is dangerous
    effort = 5
    also: tuple = ()
    try_instead: tuple = ()  # values worth trying when looking for a way out
    # of an optional part: (path, is it so?, value) told by which there is none
    none_where: tuple = ()
    # what people write that may be any of several choices, or (what is none of them)
    may_mean: dict = {}
    design = ""  # what it is called in the design that an inspection prints
    usual: Usual | None = None  # what a person is asked about who tells anything else
    at = Place()

    def __init__(self, kind: str, name: str, type: tuple, **more) -> None:
        self.kind, self.name, self.type = kind, name, type
        self.means: dict = {}
        self.choices_at: dict = {}  # choices that were added to it later -> where
        self.__dict__.update(more)

    def __getstate__(self):
        """What a cache keeps: what is not as the class has it."""
        return {k: v for k, v in self.__dict__.items() if v != getattr(Word, k, None)}

    @property
    def unit(self) -> str | None:
        return self.type[2] if self.type[0] == "q" else None


class Kind:
    """A kind of thing: its facts by name, and what people call it."""

    def __init__(self, name: str) -> None:
        self.name, self.also, self.width = name, (), 1
        self.words: dict[str, Word] = {}
        self.short: dict[str, tuple] = {}  # "stands for": root first
        self.aliases: dict[str, str] = {}


class Words:
    """The whole vocabulary, checked."""

    def __init__(self) -> None:
        self.kinds: dict[str, Kind] = {}
        self._links: list[tuple[Word, Place]] = []
        self._short: list[tuple[Kind, str, Place]] = []
        self._none_wheres: list[tuple[Word, Place]] = []

    # ---- reading
    def read(self, body: Mapping, faults: Collector) -> None:
        """Add what one `words:` mapping says."""
        for kind, facts in body.items():
            if not isinstance(facts, dict):
                faults.add(
                    "words-form",
                    place_of(kind),
                    f'"{kind}" names no facts',
                    "see kb/README.md, Words",
                )
                continue
            self._name_ok(kind, None, faults)
            self.kinds.setdefault(str(kind), Kind(str(kind)))
        for kind, facts in body.items():
            if isinstance(facts, dict):
                for name, spec in facts.items():
                    with faults.catching():
                        self._read_one(self.kinds[str(kind)], name, spec, faults)

    def _read_one(self, kind: Kind, name, spec, faults: Collector) -> None:
        at = place_of(name)
        if name == "also":
            self._texts(kind, name, spec, faults)
            kind.also += tuple(str(s) for s in (spec if isinstance(spec, list) else [spec]))
            return
        if name == "has":
            if not isinstance(spec, dict):
                faults.add("words-form", at, '"has" names parts', "write has: {part: kind}")
                return
            for part, what in spec.items():
                if not isinstance(what, str):
                    faults.add(
                        "words-form",
                        place_of(what),
                        f'"{part}" names no kind',
                        "write has: {part: kind}, or optional kind, or many kind",
                    )
                    continue
                form = re.fullmatch(r"(optional |many |open many )?(.+)", str(what))
                how, of = (form[1] or "one").strip(), form[2]
                self._name_ok(part, kind, faults)
                w = Word(
                    kind.name,
                    str(part),
                    ("many" if "many" in how else "ref", of),
                    part="open" if how.startswith("open") else how,
                    at=place_of(part),
                )
                self._add(kind, w, faults)
                self._links.append((w, place_of(what)))
            return
        if not isinstance(spec, dict):
            faults.add(
                "words-form", at, f'"{name}" says nothing of itself', "write {is: A, ask: ...}"
            )
            return
        for key in spec:
            if key not in ABOUT_A_WORD:
                faults.add(
                    "words-key",
                    place_of(key),
                    f'a word takes no "{key}"',
                    suggest(key, ABOUT_A_WORD),
                )
        for key, v in spec.items():
            if key in ("also", "try"):
                self._texts(kind, f"{name}: {key}", v, faults)
            elif key in ("means", "may mean") and (
                not isinstance(v, dict) or not all(isinstance(m, str) for m in v.values())
            ):
                raise Fault(
                    "words-form",
                    place_of(v),
                    f'"{key}" of {name} says nothing',
                    f"write {key}: {{what people write: what it means}}",
                )
            elif key not in ("means", "may mean") and not isinstance(v, str):
                raise Fault(
                    "words-form",
                    place_of(v),
                    f'"{key}" of {name} is one line of text',
                    (
                        "choices are parted by |, as in is: this | that"
                        if key == "is"
                        else f"write {key}: and one line"
                    ),
                )
        if "effort" in spec and not re.fullmatch("[1-9]", str(spec["effort"])):
            raise Fault(
                "words-form",
                place_of(spec["effort"]),
                "effort is a whole number from 1 to 9",
                "write effort: 3",
            )
        self._name_ok(name, kind, faults)
        if "stands for" in spec:
            self._short.append((kind, str(name), place_of(spec["stands for"])))
            kind.short[str(name)] = tuple(
                x.strip() for x in reversed(str(spec["stands for"]).split(" of "))
            )
            kind.aliases.update({str(a): str(name) for a in _list(spec.get("also"))})
            return
        if "also choices" in spec:
            self._more_choices(kind, name, spec, faults)
            return
        part = kind.words.get(str(name))
        # what to ask about a part named under `has`
        if "is" not in spec and part is not None and part.part:
            part.ask, part.look, part.careful = (
                str(spec.get(k, "")) for k in ("ask", "look", "careful")
            )
            part.effort, part.also = (
                int(str(spec.get("effort", 5))),
                tuple(str(a) for a in _list(spec.get("also"))),
            )
            if "none where" in spec:
                self._none_where(part, spec["none where"], faults)
            return
        if "is" not in spec:
            faults.add(
                "words-form",
                at,
                f'"{name}" does not say what it is',
                "add is: A, or is: yes or no, or is: this | that",
            )
            return
        is_, type_ = str(spec["is"]), None
        w = Word(
            kind.name,
            str(name),
            (),
            at=at,
            ask=str(spec.get("ask", "")),
            look=str(spec.get("look", "")),
            careful=str(spec.get("careful", "")),
            also=tuple(str(a) for a in _list(spec.get("also"))),
            may_be=str(spec.get("may be", "")),
            comes_with=str(spec.get("comes with", "")),
            means=(
                {str(k): str(v) for k, v in spec.get("means", {}).items()}
                if isinstance(spec.get("means", {}), dict)
                else {}
            ),
            may_mean={
                str(k).lower(): tuple(c.strip() for c in str(v).split("|"))
                for k, v in spec.get("may mean", {}).items()
            },
            try_instead=tuple(str(a) for a in _list(spec.get("try"))),
            back=str(spec.get("back", "")),
            design=str(spec.get("design", "")),
        )
        w.effort = int(str(spec.get("effort", 5)))
        link = re.fullmatch(r"(upstream |downstream )?(many |link )(.+)", is_)
        if is_ == "yes or no":
            type_ = ("flag",)
        elif is_.startswith("row of "):
            type_ = ("row", is_[7:])
        elif is_ == "text":
            type_ = (is_,)
        elif is_ in UNITS or is_ in POINTS:
            type_ = ("q", dimension(is_), is_)
        elif link:
            many, of = link[2] == "many ", link[3].removeprefix("link ")
            type_ = ("many" if many else "ref", of)
            w.up, w.down = link[1] == "upstream ", link[1] == "downstream "
            self._links.append((w, place_of(spec["is"])))
        elif "|" in is_:
            type_ = ("choice", self._choices(name, is_, place_of(spec["is"]), faults))
        else:
            unit = unit_of(is_)
            near = suggest(
                is_,
                [*UNITS, *POINTS, "yes or no", "text", "row of a table", "link kind", "many kind"],
                0,
            )
            faults.add(
                "words-type",
                place_of(spec["is"]),
                f'"{is_}" is no unit, no choice and no link',
                (
                    f"write is: {unit}"
                    if unit
                    else (
                        near
                        if near.startswith("did you mean")
                        else (
                            "write a unit (A, V, ft ...), yes or no, date, text, row of TABLE, link"
                            " KIND, or choices parted by |"
                        )
                    )
                ),
            )
            return
        w.type = type_
        if "usual" in spec:
            w.usual = self._usual(w, str(spec["usual"]), place_of(spec["usual"]))
        self._add(kind, w, faults)

    @staticmethod
    def _usual(w: Word, text: str, at: Place) -> Usual:
        """What `usual:` says of a quantity. Raises Fault where it says nothing that could be."""
        form = (
            f"write usual: 1 {w.unit} to 200 {w.unit}, or usual: listed in TABLE, or 1 {w.unit}, 3"
            f" {w.unit}"
        )
        if w.type[0] != "q" or w.unit == "date":
            raise Fault("words-usual", at, f'"{w.name}" is no quantity', "leave usual: out")
        if listed := re.fullmatch(r"listed in ([\w-]+)(?:, or (.+))?", text):
            more = [t.strip() for t in (listed[2] or "").split(",") if t.strip()]
            amounts = tuple(parse_quantity(t, str(w.unit), at)[0] for t in more)
            return Usual(text, table=listed[1], more=amounts, at=at)
        least, _, most = text.partition(" to ")
        if not most:
            raise Fault("words-usual", at, f'usual of {w.name} names no two ends: "{text}"', form)
        low, high = (parse_quantity(t.strip(), str(w.unit), at)[0] for t in (least, most))
        if low > high:
            raise Fault("words-usual", at, f"usual of {w.name} ends before it begins", form)
        return Usual(text, low, high, at=at)

    def _more_choices(self, kind: Kind, name, spec, faults: Collector) -> None:
        """Choices that a pack adds to a word which is there."""
        at, w = place_of(spec["also choices"]), kind.words.get(str(name))
        if w is None or w.type[0] != "choice":
            raise Fault(
                "words-form",
                at,
                f'{_a(kind.name)} has no "{name}" that is one of several choices',
                (
                    suggest(
                        str(name), [x.name for x in kind.words.values() if x.type[0] == "choice"]
                    )
                    if w is None
                    else "write is: for a word of your own"
                ),
            )
        if "is" in spec:
            raise Fault(
                "words-form",
                at,
                f'"{name}" has both is: and also choices:',
                "also choices: adds to a word that is there already; for a word of your own write"
                " is: this | that",
            )
        said = self._choices(name, str(spec["also choices"]), at, faults)
        for x in said:
            if x.lower() in (y.lower() for y in w.type[1]):
                faults.add(
                    "words-choice", at, f'"{x}" is a choice of "{name}" already', "leave it out"
                )
        w.type = ("choice", (*w.type[1], *said))
        w.choices_at = {**w.choices_at, **dict.fromkeys(said, at)}
        w.means = {**w.means, **{str(k): str(v) for k, v in spec.get("means", {}).items()}}

    def _choices(self, name, is_: str, at: Place, faults: Collector) -> tuple:
        said = [straight(x.strip()) for x in is_.split("|")]
        for x in said:
            if not x:
                faults.add(
                    "words-choice", at, f'a choice of "{name}" is empty', "write is: this | that"
                )
            elif x.lower() in ("unknown", "not known", "?", "none"):
                faults.add(
                    "words-choice",
                    at,
                    f'"{x}" cannot be a choice of "{name}": it says that nothing is known, or that'
                    " there is none",
                    "leave it out: a fact may always be unknown",
                )
        if len({x.lower() for x in said}) < len(said):
            twice = next(
                x for i, x in enumerate(said) if x.lower() in [y.lower() for y in said[:i]]
            )
            faults.add(
                "words-choice", at, f'"{twice}" is a choice of "{name}" twice', "keep one of them"
            )
        if {x.lower() for x in said} <= {"yes", "no"}:
            faults.add(
                "words-choice",
                at,
                f'"{name}" has the choices {" and ".join(said)}',
                "write is: yes or no",
            )
        return tuple(said)

    @staticmethod
    def _texts(kind: Kind, name, v, faults: Collector) -> None:
        for s in _list(v):
            if not isinstance(s, str):
                raise Fault(
                    "words-form",
                    place_of(s),
                    f'"{name}" of {kind.name} is a list of names',
                    "write [one name, another name]",
                )

    def _name_ok(self, name, kind: Kind | None, faults: Collector) -> None:
        at, of = place_of(name), f" of {kind.name}" if kind else ""
        bad = RESERVED & set(str(name).split())
        if bad:
            faults.add(
                "words-reserved",
                at,
                f'"{name}"{of}: a name cannot hold the word "{sorted(bad)[0]}"',
                "say it another way",
            )
        if odd := no_name(str(name)):
            faults.add("words-name", at, f'"{name}"{of} is no name: {odd}', "say it another way")
        elif not re.fullmatch(r"[^\W\d_][^\d()+×÷*±,=<>−|:#]*", str(name)):
            faults.add(
                "words-name",
                at,
                f'"{name}"{of}: a name is words, without digits or signs',
                "say it another way",
            )

    def _add(self, kind: Kind, w: Word, faults: Collector) -> None:
        old = kind.words.get(w.name)
        if old is not None and (old.type != w.type or old.part != w.part):
            faults.add(
                "words-twice",
                w.at,
                f'"{w.name}" of {kind.name} is already said at {old.at}, otherwise',
                "keep one of them",
            )
            return
        if old is None:
            kind.words[w.name] = w
            return
        # two rooms may each say a part of it
        for field_ in (
            "ask",
            "look",
            "careful",
            "also",
            "means",
            "may_mean",
            "try_instead",
            "design",
            "may_be",
            "usual",
        ):
            if not getattr(old, field_):
                setattr(old, field_, getattr(w, field_))
        if not old.ask or w.ask == old.ask:
            old.effort = w.effort

    def _none_where(self, part: Word, line, faults: Collector) -> None:
        """Read what, where it is told, says that there is no such part: `FACT of PART is VALUE and
        FACT is not VALUE`.
        """
        tests = [
            re.fullmatch(r"(.+?) is (not )?(.+)", piece.strip())
            for piece in str(line).split(" and ")
        ]
        if part.part != "optional" or None in tests:
            faults.add(
                "words-none-where",
                place_of(line),
                f'"none where" of {part.name} does not say when there is none',
                "of an optional part, write none where: FACT of PART is VALUE, or several joined"
                " by and",
            )
            return
        part.none_where = tuple(
            (tuple(reversed(m[1].split(" of "))), not m[2], m[3]) for m in tests if m
        )
        self._none_wheres.append((part, place_of(line)))

    def _check_none_where(self, faults: Collector) -> None:
        """Every path of a `none where` leads over plain parts to a fact."""
        for part, at in self._none_wheres:
            for path, _, value in part.none_where:
                kind = part.kind
                for i, name in enumerate(path):
                    w = self.kinds[kind].words.get(name) if kind in self.kinds else None
                    last = i == len(path) - 1
                    if w is None or (w.part != "one" and not last):
                        faults.add(
                            "words-none-where",
                            at,
                            f'"{name}" is no {"fact" if last else "part that always exists"} of'
                            f" {_a(kind)}",
                            (
                                suggest(name, self.kinds[kind].words)
                                if w is None
                                else (
                                    "only what the thing itself and its plain parts are told can"
                                    " say it"
                                )
                            ),
                        )
                        break
                    if last:
                        self._value_ok("words-none-where", w, value, faults)
                    kind = w.type[1] if w.type[0] == "ref" else ""

    # ---- finishing
    def finish(self, faults: Collector) -> None:
        """Tie the parts to their wholes, number the slots, and check the names against each
        other.
        """
        for w, at in self._links:
            if w.type[1] not in self.kinds:
                faults.add(
                    "words-kind",
                    at,
                    f'no kind is called "{w.type[1]}"',
                    suggest(w.type[1], self.kinds),
                )
        self._links = [(w, at) for w, at in self._links if w.type[1] in self.kinds]
        # without its words nothing else can be judged
        if any(f.code.startswith("words-") for f in faults.items):
            faults.stop()
        for w, _ in self._links:
            if w.part:
                child = self.kinds[w.type[1]]
                for whole in (w.kind, "job"):
                    if whole in self.kinds and whole != child.name:
                        child.words.setdefault(
                            whole, Word(child.name, whole, ("ref", whole), at=w.at)
                        )
        for kind in self.kinds.values():
            for i, w in enumerate(kind.words.values(), 1):
                w.slot = i
            kind.width = len(kind.words) + 1
            for w in kind.words.values():
                for a in w.also:
                    other = kind.aliases.get(a) or (a if a in kind.words else None)
                    if other and other != w.name:
                        faults.add(
                            "words-alias",
                            w.at,
                            f'"{a}" of {kind.name} already means "{other}"',
                            "one meaning each",
                        )
                    kind.aliases[a] = w.name
                if w.comes_with and w.comes_with not in kind.words:
                    faults.add(
                        "words-comes-with",
                        w.at,
                        f'"{w.name}" comes with "{w.comes_with}", which {_a(kind.name)} does not'
                        " have",
                        suggest(w.comes_with, kind.words),
                    )
                if w.comes_with == w.name:
                    faults.add(
                        "words-comes-with",
                        w.at,
                        f'"{w.name}" comes with itself',
                        "name the fact it belongs to",
                    )
                if w.back and w.type[0] != "many":
                    faults.add(
                        "words-back",
                        w.at,
                        f'"{w.name}" has back: and is no list',
                        "write is: many KIND, back: FACT",
                    )
                elif w.back and w.back not in self.kinds[w.type[1]].words:
                    faults.add(
                        "words-back",
                        w.at,
                        f'no {w.type[1]} has a "{w.back}"',
                        suggest(w.back, self.kinds[w.type[1]].words),
                    )
                elif w.back and self.kinds[w.type[1]].words[w.back].type != ("ref", kind.name):
                    faults.add(
                        "words-back",
                        w.at,
                        f'"{w.back}" of {w.type[1]} is no link to {_a(kind.name)}',
                        f"back: names the fact of the {w.type[1]} that says which {kind.name} it"
                        " hangs on",
                    )
                for a in w.try_instead:
                    self._value_ok("words-try", w, a, faults)
                asked = (
                    c for cs in w.may_mean.values() for c in cs if not re.fullmatch(r"\(.+\)", c)
                )
                for a in (*w.means.values(), *asked):
                    self._value_ok("words-means", w, a, faults)
            for a in kind.aliases:
                if a.lower() in ("unknown", "none", "has", ""):
                    faults.add(
                        "words-alias",
                        (
                            kind.words[kind.aliases[a]].at
                            if kind.aliases[a] in kind.words
                            else Place()
                        ),
                        f'"{a}" cannot be another name of a fact',
                        "leave it out",
                    )
            for a, target in kind.short.items():
                if a in kind.words:
                    faults.add(
                        "words-twice",
                        kind.words[a].at,
                        f'"{a}" of {kind.name} is a fact and stands for another',
                        "keep one of them",
                    )

        self._check_none_where(faults)
        for kind, name, at in self._short:
            k = kind.name
            for n in kind.short[name]:
                w = self.kinds[k].words.get(n) if k in self.kinds else None
                if w is None:
                    faults.add(
                        "words-stands-for",
                        at,
                        f'"{name}" of {kind.name} stands for'
                        f' "{" of ".join(reversed(kind.short[name]))}", and '
                        + (
                            f'{_a(k)} has no "{n}"'
                            if k in self.kinds
                            else f'nothing can be "of" it before "{n}"'
                        ),
                        (
                            suggest(n, self.kinds[k].words)
                            if k in self.kinds
                            else "turn the path round"
                        ),
                    )
                    break
                k = w.type[1] if w.type[0] == "ref" else ""
        self._no_endless(faults)

    def _value_ok(self, code: str, w: Word, a: str, faults: Collector) -> None:
        """See that *a*, which a person may be offered, is a value of *w*."""
        if w.type[0] == "choice" and a not in w.type[1]:
            faults.add(code, w.at, f'"{a}" is no choice of "{w.name}"', suggest(a, w.type[1]))
        elif w.type[0] == "flag" and a not in ("yes", "no"):
            faults.add(code, w.at, f'"{a}": "{w.name}" is yes or no', "write yes or no")
        elif w.type[0] == "q":
            with faults.catching():
                parse_quantity(a, w.type[2], w.at)

    def _no_endless(self, faults: Collector) -> None:
        """A plain part always exists, so that one which holds its own kind would never end."""
        for start in self.kinds:
            way, todo = {}, [start]
            while todo:
                k = todo.pop()
                for w in self.kinds[k].words.values():
                    if w.part == "one" and w.type[1] not in way:
                        way[w.type[1]] = w
                        todo.append(w.type[1])
            if start in way:
                w = way[start]
                faults.add(
                    "words-endless",
                    w.at,
                    f"every {start} would hold another {start}, without end (through {w.name} of"
                    f" {w.kind})",
                    "write optional or many before the kind",
                )
                return

    def spell(self, kind: str, names: tuple) -> list[str]:
        """A path, root first, with every short name written out."""
        out, k = [], kind
        for n in names:
            long = (
                self.kinds[k].short.get(n, (n,))
                if k in self.kinds and n not in self.kinds[k].words
                else (n,)
            )
            for m in long:
                out.append(m)
                w = self.kinds[k].words.get(m) if k in self.kinds else None
                k = w.type[1] if w is not None and w.type[0] == "ref" else ""
        return out

    def known(self, kind: str) -> list[str]:
        """Every name a fact of *kind* goes by."""
        k = self.kinds[kind]
        return [*k.words, *k.short, *k.aliases]


def _list(v) -> list:
    return [] if v is None else v if isinstance(v, list) else [v]


def _a(noun: str) -> str:
    if noun == "conductors":
        return "a set of conductors"
    return ("an " if noun[:1] in "aeiou" else "a ") + noun


a_noun = _a
as_list = _list

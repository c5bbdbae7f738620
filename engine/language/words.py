"""The vocabulary: every kind of thing a job has, every fact a thing may have, and what people call
them.

A type is a small tuple: ("q", dimension, unit) a number · ("flag",) yes or no ·
("choice", (word, ...)) · ("row", table) a row of a table · ("ref", kind) another thing ·
("many", kind) a list of things · ("text",).
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any, NamedTuple

from ..basics.errors import NOWHERE, Collector, Fault, Place, suggest
from ..basics.reading import Mapping, Piece, as_list, no_name, place_of, straight
from ..basics.units import POINTS, UNITS, Number, dimension, parse_quantity, unit_of
from .forms import WORD
from .lines import RESERVED, YEAR
from .names import FORMERLY, OldName
from .noted import AskedAs, BuiltAs, Test, read_asked, read_built, read_where, tests_of
from .things import Type

CHOICES_FORMERLY = "choices formerly"
# of what nobody told: what a note asks for first is not said, since most facts decide something
TIERS = ("decides", "workmanship", "remote")
# how hard something is to change in a building that stands, where nothing is said of it
USUAL_CHANGE = 6
NEVER = 0  # what cannot be changed at all: it is what it is


class Usual(NamedTuple):
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
    also: tuple[str, ...] = ()
    formerly: tuple[str, ...] = ()  # its old names: lines and jobs may still have them
    choices_formerly: dict[str, str] = {}  # an old name of a choice -> the present one
    try_instead: tuple[str, ...] = ()  # values worth trying when looking for a way out
    # of an optional part: what, if told, says that there is none; each of several is enough
    none_where: tuple[tuple[Test, ...], ...] = ()
    # what people write that may be any of several choices, or (what is none of them)
    may_mean: dict[str, tuple[str, ...]] = {}
    design = ""  # what it is called in the design that an inspection prints
    tier = ""  # of TIERS, where it does not decide
    likely_where: tuple[Test, ...] = ()  # of a remote fact: what, if told, makes it worth asking
    guess = ""  # what a note takes it for where nobody told it, and says so
    guess_where: tuple[Test, ...] = ()  # what must be so for that
    guess_at: Place | None = None
    # what whoever builds it puts in where a requirement waits for it: asked of nobody
    built: tuple[BuiltAs, ...] = ()
    asked: tuple[AskedAs, ...] = ()  # other words for its question, where they are the right ones
    assumed_as = ""  # how a note says what it was taken for
    right_if = ""  # how a headline says that it is so
    usual: Usual | None = None  # what a person is asked about who tells anything else
    asked_with: tuple[str, ...] = ()  # what, asked of the same thing, is asked instead
    # what is measured instead: told outright it counts, and is marked as said and not measured
    measured_by: tuple[str, ...] = ()
    called = ""  # what a headline calls what is asked for: the place of the outlet
    bare = ""  # the unit of a number that is written without one
    summed = False  # whether a sum may be written: 3 x 90, two 45s
    # what people write -> what else that says: path (root first, as in a form) -> value
    brings: dict[str, dict[tuple[str, ...], str]] = {}
    change: int | None = None  # 1 (a mark to read) to 9 (the place); None: as its kind
    said = ""  # how people say it, `{}` for the value: carries {}; of yes or no: the two with |
    at = Place()

    def __init__(self, kind: str, name: str, type: Type, **more: Any) -> None:
        self.kind, self.name, self.type = kind, name, type
        self.means: dict[str, str] = {}
        self.choices_at: dict[str, Place] = {}  # choices that were added to it later -> where
        self.__dict__.update(more)  # any of what is said of the class

    def __getstate__(self) -> dict[str, Any]:
        """What a cache keeps: what is not as the class has it."""
        return {k: v for k, v in self.__dict__.items() if v != getattr(Word, k, None)}

    @property
    def unit(self) -> str | None:
        """The unit it is kept in; None of what is no quantity."""
        return self.type[2] if self.type[0] == "q" else None

    @property
    def said_in(self) -> str | None:
        """The unit people say it in where none was written: that which `assumed as:` names."""
        named = re.findall(r"\{([^{}]+)\}", self.assumed_as)
        return next((unit for unit in named if unit in UNITS or unit in POINTS), self.unit)


class Form(NamedTuple):
    """A form in which people write several facts at once, as in 12/2 with ground."""

    said: str
    pattern: str  # and no compiled one: what is kept between starts holds plain text alone
    named: tuple[tuple[str, ...], ...]  # the facts that stand in it, in the order of its groups
    tells: dict[tuple[str, ...], str]  # what else it says: path, root first -> value
    at: Place = NOWHERE


class Kind:
    """A kind of thing: its facts by name, and what people call it."""

    def __init__(self, name: str) -> None:
        self.name, self.width = name, 1
        self.also: tuple[str, ...] = ()
        self.change: int | None = None  # how hard its facts are to change
        self.words: dict[str, Word] = {}
        # what a note says of it in one line: pieces, each with what must be so for it
        self.line: list[list[Piece]] = []
        self.found = ""  # where in the building a person stands before it
        self.short: dict[str, tuple[str, ...]] = {}  # "stands for": root first
        self.aliases: dict[str, str] = {}
        self.formerly: dict[str, str] = {}  # an old name of a fact -> the present one
        # facts whose values are said without their names, as in breaker: 40 A
        self.said_alone: tuple[str, ...] = ()
        # facts that a value alone means before any other of which it is a value
        self.said_first: tuple[str, ...] = ()
        self.asked_first = False  # whether it is what people ask about first where all is well
        self.forms: list[Form] = []
        # what may be told here and belongs elsewhere: name -> path, root first
        self.tells: dict[str, tuple[str, ...]] = {}
        # the fact whose choices, wherever somebody speaks of one, make a thing of this kind
        self.spoken = ""
        self.unspoken = False  # the names of its things speak of nothing
        # facts that the only part of a whole has alike with it
        self.shares: tuple[str, ...] = ()
        self.at = NOWHERE
        # what people call a fact, in small letters, where that can be but one
        self.folded: dict[str, str] = {}

    def fact_called(self, alias: str) -> str:
        """The fact, or the short name of one, that has another name; "" where there is none."""
        name = self.aliases.get(alias, "")
        return name if name in self.words or name in self.short else ""


class Words:
    """The whole vocabulary, checked."""

    def __init__(self) -> None:
        self.kinds: dict[str, Kind] = {}
        # the old names of facts and choices that a line of a rule has
        self.written_old: list[OldName] = []
        # judged when all is read: each with its place
        self._links: list[tuple[Word, Place]] = []
        self._short: list[tuple[Kind, str, Place]] = []
        self._elsewhere: list[tuple[Kind, str, Place]] = []
        self._none_wheres: list[tuple[Word, Place]] = []

    def change(self, kind: str, fact: str) -> int:
        """How hard a fact is to change in a building that stands: 1 to 9, or NEVER."""
        of_kind, word = self.kinds[kind].change, self.kinds[kind].words[fact].change
        return word if word is not None else USUAL_CHANGE if of_kind is None else of_kind

    # ---- reading
    def read(self, body: Mapping, faults: Collector) -> None:
        """Add what one `words:` mapping says."""
        for kind, facts in body.items():
            if not isinstance(facts, dict):
                what = f'"{kind}" names no facts'
                faults.add("words-form", place_of(kind), what, "see kb/README.md, Words")
                continue
            self._name_ok(kind, None, faults)
            self.kinds.setdefault(str(kind), Kind(str(kind))).at = place_of(kind)
        for kind, facts in body.items():
            if isinstance(facts, dict):
                self._read_kind(self.kinds[str(kind)], facts, faults)

    def _read_kind(self, kind: Kind, facts: dict[str, Piece], faults: Collector) -> None:
        for name, spec in facts.items():
            with faults.catching():
                if name == "also":
                    self._texts(kind, name, spec)
                    kind.also += tuple(str(text) for text in as_list(spec))
                elif name == "has":
                    self._read_parts(kind, name, spec, faults)
                elif name == "line" and isinstance(spec, list):
                    kind.line += [as_list(piece) for piece in spec]
                elif name == "found" and isinstance(spec, str):
                    kind.found = str(spec)
                elif name == "said alone":
                    self._texts(kind, name, spec)
                    kind.said_alone += tuple(as_list(spec))
                elif name == "said first":
                    self._texts(kind, name, spec)
                    kind.said_first += tuple(str(text) for text in as_list(spec))
                elif name == "asked first":
                    kind.asked_first = spec == "yes"
                elif name == "shares":
                    self._texts(kind, name, spec)
                    kind.shares += tuple(str(text) for text in as_list(spec))
                elif name == "forms":
                    self._read_forms(kind, spec)
                elif name == "spoken":
                    kind.spoken, kind.unspoken = (str(spec), False) if spec != "no" else ("", True)
                elif name == "change":
                    kind.change = _change(spec)
                # the keys above are what a kind says of itself; any other name is a fact of it
                elif isinstance(spec, dict):
                    self._read_word(kind, name, spec, faults)
                else:
                    what = f'"{name}" says nothing of itself'
                    faults.add("words-form", place_of(name), what, "write {is: A, ask: ...}")

    def _read_parts(self, kind: Kind, name: str, spec: Piece, faults: Collector) -> None:
        """Add the parts that a kind has: each is a thing, or a list of them."""
        if not isinstance(spec, dict):
            faults.add("words-form", place_of(name), '"has" names parts', "write has: {part: kind}")
            return
        for part, said in spec.items():
            form = re.fullmatch(r"(optional |many |open many )?(.+)", str(said))
            if form is None or not isinstance(said, str):
                faults.add(
                    "words-form",
                    place_of(said),
                    f'"{part}" names no kind',
                    "write has: {part: kind}, or optional kind, or many kind",
                )
                continue
            how = (form[1] or "one").strip()
            self._name_ok(part, kind, faults)
            word = Word(
                kind.name,
                str(part),
                ("many" if "many" in how else "ref", form[2]),
                part="open" if how.startswith("open") else how,
                at=place_of(part),
            )
            self._add(kind, word, faults)
            self._links.append((word, place_of(said)))

    def _read_forms(self, kind: Kind, spec: Piece) -> None:
        """Add the forms in which people write several facts of a thing at once."""
        if not isinstance(spec, dict) or not all(isinstance(v, dict) for v in spec.values()):
            raise Fault(
                "words-form",
                place_of(spec),
                f'"forms" of {kind.name} says nothing',
                'write forms: {"what people write, as in {size}/{wires}": {fact: value}}',
            )
        for written, tells in spec.items():
            for said in str(written).split(" | "):
                kind.forms.append(_form(said.strip(), _paths(tells), place_of(written)))

    def _read_word(self, kind: Kind, name: str, spec: dict[str, Piece], faults: Collector) -> None:
        """Add what is said of one word: a fact, a part that is asked about, a short name."""
        self._see_form(kind, name, spec, faults)
        self._name_ok(name, kind, faults)
        part = kind.words.get(str(name))
        if "stands for" in spec:
            self._read_short(kind, name, spec)
        elif "tells" in spec:
            self._read_tells(kind, name, spec)
        elif "also choices" in spec:
            self._more_choices(kind, name, spec, faults)
        elif "is" in spec:
            self._read_fact(kind, name, spec, faults)
        elif part is not None and part.part:
            self._ask_about(part, spec, faults)
        else:
            faults.add(
                "words-form",
                place_of(name),
                f'"{name}" does not say what it is',
                "add is: A, or is: yes or no, or is: this | that",
            )

    def _see_form(self, kind: Kind, name: str, spec: dict[str, Piece], faults: Collector) -> None:
        """See that each thing said of a word may be said, and in which form. Past a wrong form
        nothing more of the word can be read.
        """
        WORD.see(spec, faults)
        for key, said in spec.items():
            if key in ("also", "try", "asked with", "measured by", FORMERLY):
                self._texts(kind, f"{name}: {key}", said)
            elif key in ("built", "asked"):
                continue  # seen where it is read
            elif key == "brings":
                if not isinstance(said, dict) or not all(
                    isinstance(facts, dict) and _all_text(list(facts.values()))
                    for facts in said.values()
                ):
                    raise Fault(
                        "words-form",
                        place_of(said),
                        f'"brings" of {name} says nothing',
                        "write brings: {what people write: {fact: value}}",
                    )
            elif key in ("means", "may mean", CHOICES_FORMERLY):
                if not isinstance(said, dict) or not _all_text(list(said.values())):
                    raise Fault(
                        "words-form",
                        place_of(said),
                        f'"{key}" of {name} says nothing',
                        f"write {key}: {{what people write: what it means}}",
                    )
            elif not isinstance(said, str):
                todo = f"write {key}: and one line"
                if key == "is":
                    todo = "choices are parted by |, as in is: this | that"
                what = f'"{key}" of {name} is one line of text'
                raise Fault("words-form", place_of(said), what, todo)
        if "effort" in spec and not re.fullmatch("[1-9]", spec["effort"]):
            what = "effort is a whole number from 1 to 9"
            raise Fault("words-form", place_of(spec["effort"]), what, "write effort: 3")
        if "change" in spec:
            _change(spec["change"])

    def _read_short(self, kind: Kind, name: str, spec: dict[str, Piece]) -> None:
        """Add a short name for a path."""
        said = spec["stands for"]
        self._short.append((kind, str(name), place_of(said)))
        kind.short[str(name)] = tuple(step.strip() for step in reversed(said.split(" of ")))
        kind.aliases.update({str(alias): str(name) for alias in as_list(spec.get("also"))})

    def _read_tells(self, kind: Kind, name: str, spec: dict[str, Piece]) -> None:
        """Add a name under which something may be told here that belongs elsewhere."""
        said = spec["tells"]
        self._elsewhere.append((kind, str(name), place_of(said)))
        kind.tells[str(name)] = path_of(str(said))
        kind.aliases.update({str(alias): str(name) for alias in as_list(spec.get("also"))})

    def _ask_about(self, part: Word, spec: dict[str, Piece], faults: Collector) -> None:
        """What to ask about a part that was named under `has`."""
        part.ask, part.look, part.careful = (
            str(spec.get(key, "")) for key in ("ask", "look", "careful")
        )
        part.effort = int(spec.get("effort", 5))
        part.change = _change(spec.get("change"))
        part.said = str(spec.get("said", ""))
        part.also = _texts_of(spec, "also")
        part.formerly = _texts_of(spec, FORMERLY)
        self._for_a_note(part, spec, faults)
        if "none where" in spec:
            self._none_where(part, spec["none where"], faults)

    def _read_fact(self, kind: Kind, name: str, spec: dict[str, Piece], faults: Collector) -> None:
        """Add a fact."""
        word = Word(
            kind.name,
            str(name),
            (),
            at=place_of(name),
            ask=str(spec.get("ask", "")),
            look=str(spec.get("look", "")),
            careful=str(spec.get("careful", "")),
            also=_texts_of(spec, "also"),
            may_be=str(spec.get("may be", "")),
            comes_with=str(spec.get("comes with", "")),
            formerly=_texts_of(spec, FORMERLY),
            choices_formerly=_pairs_of(spec, CHOICES_FORMERLY),
            means=_pairs_of(spec, "means"),
            may_mean={
                str(written).lower(): tuple(choice.strip() for choice in said.split("|"))
                for written, said in spec.get("may mean", {}).items()
            },
            try_instead=_texts_of(spec, "try"),
            back=str(spec.get("back", "")),
            design=str(spec.get("design", "")),
            effort=int(spec.get("effort", 5)),
            bare=str(spec.get("bare", "")),
            summed=str(spec.get("summed", "")) == "yes",
            brings={
                str(written): _paths(facts) for written, facts in spec.get("brings", {}).items()
            },
            change=_change(spec.get("change")),
            said=str(spec.get("said", "")),
        )
        self._for_a_note(word, spec, faults)
        type_ = self._type(word, spec["is"], faults)
        if type_ is not None:
            word.type = type_
            if "usual" in spec:
                word.usual = self._usual(word, str(spec["usual"]), place_of(spec["usual"]))
            self._add(kind, word, faults)

    def _for_a_note(self, word: Word, spec: dict[str, Piece], faults: Collector) -> None:
        """What a note is to make of a word that nobody told: its tier, and what it is taken for."""
        tier = str(spec.get("tier", ""))
        if tier and tier not in TIERS:
            what = f'"{tier}" is no tier of {word.name}'
            faults.add("words-tier", place_of(spec["tier"]), what, suggest(tier, TIERS))
        word.tier = "" if tier == "decides" else tier
        word.guess, word.assumed_as, word.right_if, word.called = (
            str(spec.get(key, "")) for key in ("guess", "assumed as", "right if", "called")
        )
        word.asked_with = _texts_of(spec, "asked with")
        word.measured_by = _texts_of(spec, "measured by")
        if "guess" in spec:
            word.guess_at = place_of(spec["guess"])
        if "built" in spec:
            word.built = read_built(spec["built"])
        if "asked" in spec:
            word.asked = read_asked(spec["asked"])
        if "guess where" in spec:
            word.guess_where = read_where(spec["guess where"])
        if "likely where" in spec:
            word.likely_where = tests_of(str(spec["likely where"]))
            if tier != "remote" or not word.likely_where:
                faults.add(
                    "words-tier",
                    place_of(spec["likely where"]),
                    f'"likely where" of {word.name} does not say when it is worth asking',
                    "beside tier: remote, write likely where: FACT of LINK is VALUE, or several"
                    " joined by and",
                )

    def _type(self, word: Word, said: str, faults: Collector) -> Type | None:
        """The type that `is:` names; None where it names none. A link is noted: its kind may be
        said further on.
        """
        is_, at = str(said), place_of(said)
        link = re.fullmatch(r"(upstream |downstream )?(many |link )(.+)", is_)
        if is_ == "yes or no":
            return ("flag",)
        if is_.startswith("row of "):
            return ("row", is_[7:])
        if is_ == "text":
            return ("text",)
        if is_ in UNITS or is_ in POINTS:
            return ("q", dimension(is_), is_)
        if link:
            word.up, word.down = link[1] == "upstream ", link[1] == "downstream "
            self._links.append((word, at))
            return ("many" if link[2] == "many " else "ref", link[3].removeprefix("link "))
        if "|" in is_:
            return ("choice", self._choices(word.name, is_, at, faults))
        what = f'"{is_}" is no unit, no choice and no link'
        faults.add("words-type", at, what, _type_meant(is_))
        return None

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

    def _more_choices(
        self, kind: Kind, name: str, spec: dict[str, Piece], faults: Collector
    ) -> None:
        """Choices that a pack adds to a word which is there."""
        said, word = spec["also choices"], kind.words.get(str(name))
        at = place_of(said)
        if word is None or word.type[0] != "choice":
            todo = "write is: for a word of your own"
            if word is None:
                chosen = [w.name for w in kind.words.values() if w.type[0] == "choice"]
                todo = suggest(str(name), chosen)
            what = f'{a_noun(kind.name)} has no "{name}" that is one of several choices'
            raise Fault("words-form", at, what, todo)
        if "is" in spec:
            raise Fault(
                "words-form",
                at,
                f'"{name}" has both is: and also choices:',
                "also choices: adds to a word that is there already; for a word of your own write"
                " is: this | that",
            )
        choices = self._choices(name, str(said), at, faults)
        there = [choice.lower() for choice in word.type[1]]
        for choice in choices:
            if choice.lower() in there:
                what = f'"{choice}" is a choice of "{name}" already'
                faults.add("words-choice", at, what, "leave it out")
        word.type = ("choice", (*word.type[1], *choices))
        word.choices_at = {**word.choices_at, **dict.fromkeys(choices, at)}
        word.means = {**word.means, **_pairs_of(spec, "means")}

    def _choices(self, name: str, is_: str, at: Place, faults: Collector) -> tuple[str, ...]:
        """The choices that are parted by |."""
        choices = [straight(choice.strip()) for choice in is_.split("|")]
        lower = [choice.lower() for choice in choices]
        for choice in choices:
            if not choice:
                what = f'a choice of "{name}" is empty'
                faults.add("words-choice", at, what, "write is: this | that")
            elif choice.lower() in ("unknown", "not known", "?", "none"):
                faults.add(
                    "words-choice",
                    at,
                    f'"{choice}" cannot be a choice of "{name}": it says that nothing is known, or'
                    " that there is none",
                    "leave it out: a fact may always be unknown",
                )
        twice = next((i for i, choice in enumerate(lower) if choice in lower[:i]), None)
        if twice is not None:
            what = f'"{choices[twice]}" is a choice of "{name}" twice'
            faults.add("words-choice", at, what, "keep one of them")
        if {*lower} <= {"yes", "no"}:
            what = f'"{name}" has the choices {" and ".join(choices)}'
            faults.add("words-choice", at, what, "write is: yes or no")
        return tuple(choices)

    @staticmethod
    def _texts(kind: Kind, name: str, said: Piece) -> None:
        """See that names are names, and not mappings or lists."""
        for text in as_list(said):
            if not isinstance(text, str):
                what = f'"{name}" of {kind.name} is a list of names'
                raise Fault("words-form", place_of(text), what, "write [one name, another name]")

    def _name_ok(self, name: str, kind: Kind | None, faults: Collector) -> None:
        """See that *name* can stand in a line."""
        at, of = place_of(name), f" of {kind.name}" if kind else ""
        bad, odd = RESERVED & set(str(name).split()), no_name(str(name))
        todo = "say it another way"
        if bad:
            what = f'"{name}"{of}: a name cannot hold the word "{sorted(bad)[0]}"'
            faults.add("words-reserved", at, what, todo)
        if odd:
            faults.add("words-name", at, f'"{name}"{of} is no name: {odd}', todo)
        elif name == YEAR:
            what = f'"{name}"{of}: a line asks a date for it (year of permit date)'
            faults.add("words-name", at, what, "say of what it is the year: year built")
        elif not re.fullmatch(r"[^\W\d_][^\d()+×÷*±,=<>−|:#]*", str(name)):
            what = f'"{name}"{of}: a name is words, without digits or signs'
            faults.add("words-name", at, what, todo)

    def _add(self, kind: Kind, word: Word, faults: Collector) -> None:
        """Put a word among those of its kind; two rooms may each say a part of it."""
        old = kind.words.setdefault(word.name, word)
        if old is word:
            return
        if old.type != word.type or old.part != word.part:
            faults.add(
                "words-twice",
                word.at,
                f'"{word.name}" of {kind.name} is already said at {old.at}, otherwise',
                "keep one of them",
            )
            return
        for field in (
            "ask",
            "look",
            "careful",
            "also",
            "formerly",
            "choices_formerly",
            "means",
            "may_mean",
            "try_instead",
            "design",
            "may_be",
            "usual",
            "tier",
            "likely_where",
            "guess",
            "guess_where",
            "guess_at",
            "built",
            "asked",
            "asked_with",
            "measured_by",
            "called",
            "assumed_as",
            "right_if",
            "bare",
            "summed",
            "brings",
            "change",
            "said",
        ):
            if not getattr(old, field):
                setattr(old, field, getattr(word, field))
        if not old.ask or word.ask == old.ask:
            old.effort = word.effort

    def _none_where(self, part: Word, line: str, faults: Collector) -> None:
        """Read what, where it is told, says that there is no such part: `FACT of PART is VALUE and
        FACT is not VALUE`.
        """
        ways = tuple(map(tests_of, str(line).split(" or ")))
        if part.part != "optional" or not all(ways):
            faults.add(
                "words-none-where",
                place_of(line),
                f'"none where" of {part.name} does not say when there is none',
                "of an optional part, write none where: FACT of PART is VALUE, or several joined"
                " by and",
            )
            return
        part.none_where = ways
        self._none_wheres.append((part, place_of(line)))

    # ---- finishing
    def finish(self, faults: Collector) -> None:
        """Tie the parts to their wholes, number the slots, and check the names against each
        other.

        Raises:
            Faults: a word is wrong by itself: without its words nothing else can be judged.
        """
        for word, at in self._links:
            if word.type[1] not in self.kinds:
                what = f'no kind is called "{word.type[1]}"'
                faults.add("words-kind", at, what, suggest(word.type[1], self.kinds))
        self._links = [(word, at) for word, at in self._links if word.type[1] in self.kinds]
        if any(fault.code.startswith("words-") for fault in faults.items):
            faults.stop()
        self._tie_parts()
        for kind in self.kinds.values():
            for slot, word in enumerate(kind.words.values(), 1):
                word.slot = slot
            kind.width = len(kind.words) + 1
            for word in kind.words.values():
                self._see_aliases(kind, word, faults)
                self._see_old_names(kind, word, faults)
                self._see_comes_with(kind, word, faults)
                self._see_back(kind, word, faults)
                self._see_values(word, faults)
            self._see_names(kind, faults)
        self._see_none_where(faults)
        for kind, name, at in self._short:
            self._see_stands_for(kind, name, at, faults)
        for kind in self.kinds.values():
            self._see_said(kind, faults)
            kind.folded = _folded(kind)
        self._no_endless(faults)

    def _tie_parts(self) -> None:
        """Give every part a link to the whole that holds it, and to the job."""
        for word, _ in self._links:
            if not word.part:
                continue
            child = self.kinds[word.type[1]]
            for whole in (word.kind, "job"):
                if whole in self.kinds and whole != child.name:
                    link = Word(child.name, whole, ("ref", whole), at=word.at)
                    child.words.setdefault(whole, link)

    def _see_aliases(self, kind: Kind, word: Word, faults: Collector) -> None:
        """Note what else a word is called, and see that nothing else is called so."""
        for alias in word.also:
            other = kind.aliases.get(alias) or (alias if alias in kind.words else None)
            if other and other != word.name:
                what = f'"{alias}" of {kind.name} already means "{other}"'
                faults.add("words-alias", word.at, what, "one meaning each")
            kind.aliases[alias] = word.name

    def _see_old_names(self, kind: Kind, word: Word, faults: Collector) -> None:
        """Note what a word and its choices were called before; an old name is nobody's present
        one.
        """
        for old in word.formerly:
            other = old if old in kind.words or old in kind.short else kind.aliases.get(old)
            if other not in (None, word.name):
                faults.add(
                    "old-name-in-use",
                    word.at,
                    f'"{word.name}" of {kind.name} was formerly "{old}", and that is '
                    + ("a fact of it" if other == old else f'another name of "{other}"'),
                    "an old name means one thing: leave it out, or rename the other",
                )
                continue
            kind.aliases[old] = kind.formerly[old] = word.name
        for old, new in word.choices_formerly.items():
            self._value_ok("words-means", word, new, faults)
            if word.type[0] == "choice" and old in word.type[1]:
                faults.add(
                    "old-name-in-use",
                    word.at,
                    f'"{new}" of {word.name} was formerly "{old}", and that is a choice of it',
                    "an old name means one thing: leave it out, or rename the other",
                )
            word.means = {**word.means, old: new}

    def _see_comes_with(self, kind: Kind, word: Word, faults: Collector) -> None:
        """See that what a word comes with is another fact of its kind."""
        if word.comes_with and word.comes_with not in kind.words:
            faults.add(
                "words-comes-with",
                word.at,
                f'"{word.name}" comes with "{word.comes_with}", which {a_noun(kind.name)} does not'
                " have",
                suggest(word.comes_with, kind.words),
            )
        if word.comes_with == word.name:
            what = f'"{word.name}" comes with itself'
            faults.add("words-comes-with", word.at, what, "name the fact it belongs to")

    def _see_back(self, kind: Kind, word: Word, faults: Collector) -> None:
        """See that a list which is made from links is one, and that its things have the link."""
        if not word.back:
            return
        if word.type[0] != "many":
            what = f'"{word.name}" has back: and is no list'
            faults.add("words-back", word.at, what, "write is: many KIND, back: FACT")
            return
        of = word.type[1]
        link = self.kinds[of].words.get(word.back)
        if link is None:
            what = f'no {of} has a "{word.back}"'
            faults.add("words-back", word.at, what, suggest(word.back, self.kinds[of].words))
        elif link.type != ("ref", kind.name):
            faults.add(
                "words-back",
                word.at,
                f'"{word.back}" of {of} is no link to {a_noun(kind.name)}',
                f"back: names the fact of the {of} that says which {kind.name} it hangs on",
            )

    def _see_values(self, word: Word, faults: Collector) -> None:
        """See that what a person may be offered or taken to mean is a value of the word."""
        for value in word.try_instead:
            self._value_ok("words-try", word, value, faults)
        # (what is in brackets) is none of the choices
        asked = [
            choice
            for choices in word.may_mean.values()
            for choice in choices
            if not re.fullmatch(r"\(.+\)", choice)
        ]
        for value in (*word.means.values(), *asked):
            self._value_ok("words-means", word, value, faults)

    def _see_names(self, kind: Kind, faults: Collector) -> None:
        """See that a name of a fact is not taken for something else."""
        for alias, name in kind.aliases.items():
            if alias.lower() in ("unknown", "none", "has", ""):
                at = kind.words[name].at if name in kind.words else Place()
                what = f'"{alias}" cannot be another name of a fact'
                faults.add("words-alias", at, what, "leave it out")
        for short in kind.short:
            if short in kind.words:
                what = f'"{short}" of {kind.name} is a fact and stands for another'
                faults.add("words-twice", kind.words[short].at, what, "keep one of them")

    def _see_none_where(self, faults: Collector) -> None:
        """Every path of a `none where` leads over plain parts to a fact."""
        for part, at in self._none_wheres:
            for path, _, value in (test for tests in part.none_where for test in tests):
                self._see_toldpath_of(part, path, value, at, faults)

    def _see_toldpath_of(
        self, part: Word, path: tuple[str, ...], value: str, at: Place, faults: Collector
    ) -> None:
        kind = part.kind
        for i, name in enumerate(path):
            word, last = self._word(kind, name), i == len(path) - 1
            if word is None or (word.part != "one" and not last):
                sought = "fact" if last else "part that always exists"
                todo = "only what the thing itself and its plain parts are told can say it"
                if word is None:
                    todo = suggest(name, self.kinds[kind].words)
                what = f'"{name}" is no {sought} of {a_noun(kind)}'
                faults.add("words-none-where", at, what, todo)
                return
            if last:
                self._value_ok("words-none-where", word, value, faults)
            kind = _kind_of(word)

    def _see_stands_for(self, kind: Kind, name: str, at: Place, faults: Collector) -> None:
        """See that a short name stands for a path that there is."""
        here = kind.name
        for step in kind.short[name]:
            word = self._word(here, step)
            if word is None:
                lacks, todo = f'nothing can be "of" it before "{step}"', "turn the path round"
                if here in self.kinds:
                    lacks = f'{a_noun(here)} has no "{step}"'
                    todo = suggest(step, self.kinds[here].words)
                path = " of ".join(reversed(kind.short[name]))
                what = f'"{name}" of {kind.name} stands for "{path}", and {lacks}'
                faults.add("words-stands-for", at, what, todo)
                return
            here = _kind_of(word)

    def _see_said(self, kind: Kind, faults: Collector) -> None:
        """See that what people write in forms of their own says facts that there are."""
        for fact in (
            *kind.said_alone,
            *kind.said_first,
            *kind.shares,
            *([kind.spoken] if kind.spoken else []),
        ):
            self._seepath_of(kind, path_of(fact), kind.at, faults)
        for form in kind.forms:
            for path in (*form.named, *form.tells):
                self._seepath_of(kind, path, form.at, faults)
        for word in kind.words.values():
            for facts in word.brings.values():
                for path in facts:
                    self._seepath_of(kind, path, word.at, faults)
        for of, name, at in self._elsewhere:
            if of is kind:
                self._seepath_of(kind, kind.tells[name], at, faults)

    def _seepath_of(self, kind: Kind, path: tuple[str, ...], at: Place, faults: Collector) -> None:
        """See that a path leads from a thing, or from what it is a part of, to a fact or a part."""
        here = kind.name
        for i, step in enumerate(path):
            if i == 0 and step not in kind.words and step in self.kinds:
                here = step
                continue
            word = self._word(here, step)
            if word is None:
                what = f'"{" of ".join(reversed(path))}": {a_noun(here)} has no "{step}"'
                todo = suggest(step, self.kinds[here].words) if here in self.kinds else ""
                faults.add("words-forms", at, what, todo or "turn the path round")
                return
            here = word.type[1] if word.type[0] in ("ref", "many") else ""

    def _word(self, kind: str, name: str) -> Word | None:
        """The word *name* of a kind, if there are both."""
        return self.kinds[kind].words.get(name) if kind in self.kinds else None

    def _value_ok(self, code: str, word: Word, value: str, faults: Collector) -> None:
        """See that *value*, which a person may be offered, is one of *word*."""
        if word.type[0] == "choice" and value not in word.type[1]:
            what = f'"{value}" is no choice of "{word.name}"'
            faults.add(code, word.at, what, suggest(value, word.type[1]))
        elif word.type[0] == "flag" and value not in ("yes", "no"):
            what = f'"{value}": "{word.name}" is yes or no'
            faults.add(code, word.at, what, "write yes or no")
        elif word.type[0] == "q":
            with faults.catching():
                parse_quantity(value, word.type[2], word.at)

    def _no_endless(self, faults: Collector) -> None:
        """A plain part always exists, so that one which holds its own kind would never end."""
        for start in self.kinds:
            way = self._plain_parts(start)
            if start in way:
                word = way[start]
                faults.add(
                    "words-endless",
                    word.at,
                    f"every {start} would hold another {start}, without end (through {word.name} of"
                    f" {word.kind})",
                    "write optional or many before the kind",
                )
                return

    def _plain_parts(self, start: str) -> dict[str, Word]:
        """The kinds that a thing always holds, near or far, each with the part that it is."""
        way: dict[str, Word] = {}
        todo = [start]
        while todo:
            for word in self.kinds[todo.pop()].words.values():
                if word.part == "one" and word.type[1] not in way:
                    way[word.type[1]] = word
                    todo.append(word.type[1])
        return way

    # ---- asking
    def at_the_end(self, kind: Kind, path: tuple[str, ...]) -> Word | None:
        """The word to which a path leads from a thing of a kind, or from what it is a part of."""
        here, word = kind.name, None
        for i, step in enumerate(path):
            if i == 0 and step not in kind.words and step in self.kinds:
                here = step
                continue
            word = self._word(here, step)
            if word is None:
                return None
            here = word.type[1] if word.type[0] in ("ref", "many") else ""
        return word

    def spell(self, kind: str, names: tuple[str, ...], at: Place | None = None) -> list[str]:
        """A path, root first, with every short name written out and every old one as it is now; of
        a path that stands *at* a place that is noted.
        """
        out, here = [], kind
        for said in names:
            long: tuple[str, ...] = (said,)
            if here in self.kinds and said not in self.kinds[here].words:
                name = self.present_name(here, said, at)
                long = self.kinds[here].short.get(name, (name,))
            for step in long:
                out.append(step)
                word = self._word(here, step)
                here = "" if word is None else _kind_of(word)
        return out

    def present_name(self, kind: str, fact: str, at: Place | None) -> str:
        """The name a fact of *kind* has now; that an old one stands *at* a place is noted."""
        new = self.kinds[kind].formerly.get(fact)
        if new is None:
            return fact
        if at is not None:
            self.written_old.append(OldName(at, fact, new))
        return new

    def present_choice(self, word: Word | None, choice: str, at: Place) -> str:
        """The name a choice has now; that an old one stands *at* a place is noted."""
        new = word.choices_formerly.get(choice) if word is not None else None
        if new is None:
            return choice
        self.written_old.append(OldName(at, choice, new))
        return new

    def known(self, kind: str) -> list[str]:
        """Every name a fact of *kind* goes by."""
        k = self.kinds[kind]
        return [*k.words, *k.short, *k.tells, *k.aliases]


def _kind_of(word: Word) -> str:
    """The kind of thing that a word leads to; "" where it leads to none, or to several things."""
    return word.type[1] if word.type[0] == "ref" else ""


def _folded(kind: Kind) -> dict[str, str]:
    """Every name of a fact in small letters -> the fact; without those that two facts share so."""
    out: dict[str, str] = {}
    twice: set[str] = set()
    names = {**{n: n for n in (*kind.words, *kind.short, *kind.tells)}, **kind.aliases}
    for name, fact in names.items():
        if out.setdefault(name.lower(), fact) != fact:
            twice.add(name.lower())
    return {name: fact for name, fact in out.items() if name not in twice}


def path_of(said: str) -> tuple[str, ...]:
    """A path as it is said, root first.

    >>> path_of("method of segments of circuit")
    ('circuit', 'segments', 'method')
    """
    return tuple(step.strip() for step in reversed(said.split(" of ")))


def _paths(facts: dict[str, Piece]) -> dict[tuple[str, ...], str]:
    return {path_of(str(fact)): str(value) for fact, value in facts.items()}


def _form(said: str, tells: dict[tuple[str, ...], str], at: Place) -> Form:
    """A form with its pattern: facts stand in it in braces, and anything may stand for them."""
    named: list[tuple[str, ...]] = []
    pattern = ""
    for piece in re.split(r"(\{[^{}]+\})", said):
        if piece.startswith("{") and piece.endswith("}"):
            named.append(path_of(piece[1:-1]))
            pattern += r"(.+?)"
        else:
            pattern += re.escape(piece).replace(r"\ ", r"\s+")
    return Form(said, pattern, tuple(named), tells, at)


def _change(said: object) -> int | None:
    """How hard something is to change, as it is written; None where nothing is said.

    Raises:
        Fault: it is no such number.
    """
    if said is None:
        return None
    if said == "never":
        return NEVER
    if not re.fullmatch("[1-9]", str(said)):
        what = "change is a whole number from 1 (a mark to read) to 9 (the place), or never"
        raise Fault("words-form", place_of(said), what, "write change: 4")
    return int(str(said))


def _pairs_of(spec: dict[str, Piece], key: str) -> dict[str, str]:
    """What stands under *key*: what people write -> the value that it means."""
    return {str(written): str(value) for written, value in spec.get(key, {}).items()}


def _texts_of(spec: dict[str, Piece], key: str) -> tuple[str, ...]:
    """The texts under *key*, one or several."""
    return tuple(str(text) for text in as_list(spec.get(key)))


def _all_text(pieces: list[Piece]) -> bool:
    return all(isinstance(piece, str) for piece in pieces)


def _type_meant(is_: str) -> str:
    """What to write for a type that is none."""
    unit = unit_of(is_)
    if unit:
        return f"write is: {unit}"
    types = ["yes or no", "text", "row of a table", "link kind", "many kind"]
    near = suggest(is_, [*UNITS, *POINTS, *types], 0)
    if near.startswith("did you mean"):
        return near
    return (
        "write a unit (A, V, ft ...), yes or no, date, text, row of TABLE, link KIND, or choices"
        " parted by |"
    )


def a_noun(noun: str) -> str:
    """A noun with its article.

    >>> a_noun("circuit"), a_noun("outlet"), a_noun("conductors")
    ('a circuit', 'an outlet', 'a set of conductors')
    """
    if noun == "conductors":
        return "a set of conductors"
    return ("an " if noun[:1] in "aeiou" else "a ") + noun

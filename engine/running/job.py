"""Read a job: what a person wrote, under any name people use, into things with cells; every slip is
a fault with a place.

A thing is a list of cells: cell 0 is its Meta, then its facts in the order of the vocabulary, then
the rules' slots.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, cast

from ..basics.errors import HINTS, Collector, Fault, Faults, Place, nearest, or_list, suggest
from ..basics.limits import THINGS
from ..basics.reading import Items, Mapping, Text, decode, place_of, read_bytes, read_yaml, straight
from ..basics.sentinels import NONE
from ..basics.units import (
    POINTS,
    UNITS,
    Number,
    dimension,
    parse_quantity,
    said_day,
    show_number,
    unit_of,
)
from ..language.knowledge import Knowledge
from ..language.things import Members, Meta, OpenMembers, Thing
from ..language.words import Kind, Word, a_noun
from .alone import Placing, ReadAs, which_choice
from .beside import BESIDE, beside_of
from .program import program_of
from .unknown import AlsoSaid, Unknown, merged, spoken_of, text_of

MOST_OF_EACH = 12  # in a sum: more are a slip
# what a file says beside the things of a job
FRAME = ("job", "expect", "packs", "assumed", "options", *BESIDE)
UNKNOWN = ("unknown", "not known", "?", "unsure")
NUMBER = re.compile(r"[\d.,/]+")  # without a unit
YES, NO = ("yes", "true", "y"), ("no", "false", "n")


class Shape:
    """What the reading of jobs asks of a kind again and again."""

    def __init__(self, k: Knowledge, kind: str) -> None:
        self.words = k.words.kinds[kind].words
        self.units = {
            w.name: w.said_in for w in self.words.values() if w.said_in and w.said_in != w.unit
        }
        self.parts = [w for w in self.words.values() if w.part]
        self.nones = [w for w in self.parts if w.none_where]
        self.ups = [w for w in self.words.values() if w.up]
        # of which it may be a part
        self.wholes = [
            w
            for w in self.words.values()
            if w.type[0] == "ref" and not w.part and self._has(k, w.name, kind)
        ]
        self.backs = [
            (w, k.words.kinds[w.type[1]].words[w.back].slot) for w in self.words.values() if w.back
        ]
        # fact -> what a person may write in small letters -> the choice
        self.choices: dict[str, dict] = {}

    @staticmethod
    def _has(k: Knowledge, whole: str, part: str) -> bool:
        return whole in k.words.kinds and any(
            w.part and w.type[1] == part for w in k.words.kinds[whole].words.values()
        )

    def choices_of(self, w: Word) -> dict:
        got = self.choices.get(w.name)
        if got is None:
            got = self.choices[w.name] = {c.lower(): c for c in w.type[1]} | {
                said.lower(): c for said, c in w.means.items()
            }
        return got


def shape_of(k: Knowledge, kind: str) -> Shape:
    """The shape of a kind, found once."""
    shapes = program_of(k).shapes
    if kind not in shapes:
        shapes[kind] = Shape(k, kind)
    return shapes[kind]


class Job:
    """The things of one job, as told."""

    def __init__(self, knowledge: Knowledge, body: Mapping, name: str = "job") -> None:
        self.k, self.body, self.name = knowledge, body, name
        self.things: dict[str, list] = {}  # id -> thing
        self.by_kind: dict[str, list] = {k: [] for k in knowledge.words.kinds}
        self.faults = Collector()
        self._links: list = []
        self.also_said: list[AlsoSaid] = []  # what nothing here uses
        self._subjects: list[str] = []  # other names of a fact that somebody spoke of
        self._placing = Placing(knowledge, self._value_alone, self.faults)
        self._unknown = Unknown(knowledge, FRAME)
        self._frame(body)
        self.beside = beside_of(body, self.faults, Place(name))
        self.title = str(body.get("job", "")) if isinstance(body.get("job", ""), str) else ""
        self._make(
            "job",
            "job",
            "job",
            {k: v for k, v in body.items() if k not in FRAME},
            None,
        )
        self.also_said += [
            AlsoSaid(of, key, str(word), word.at) for of, key, word in self._placing.left
        ]
        self._speak_of()
        self._tie()
        self.assumed = self._assumed(body.get("assumed", []))
        # (thing, fact) of what was put in because it is required, and nobody told
        self.put_in: set[tuple[str, str]] = set()
        if len(self.things) == 1 and not self.faults.items:
            self.faults.add(
                "nothing-in-it",
                place_of(body, Place(name)),
                "this job describes nothing to judge",
                "name at least one circuit: circuits: {kiln: {...}}",
            )
        if self.faults.items:
            self.faults.items = merged(self.faults.items)
        self.faults.stop()

    def _frame(self, body: Mapping) -> None:
        """What a file says beside the things of the job: its title, and what must come out."""
        if not isinstance(body.get("job", ""), str):
            self.faults.add(
                "job-form",
                place_of(body["job"], Place(self.name)),
                '"job" is the title of the job',
                "write job: Kiln in the basement, and circuits: beside it",
            )
        packs = body.get("packs", [])
        if (
            not isinstance(packs, (str, list))
            or isinstance(packs, list)
            and not all(isinstance(p, str) for p in packs)
        ):
            self.faults.add(
                "job-form",
                place_of(packs, Place(self.name)),
                '"packs" names packs',
                "write packs: [name of a pack]",
            )
        expect = body.get("expect", {})
        if not isinstance(expect, dict) or not all(
            isinstance(v, dict) and all(isinstance(t, str) for t in v.values())
            for v in expect.values()
        ):
            self.faults.add(
                "job-form",
                place_of(expect, Place(self.name)),
                '"expect" names things, and for each what must come out',
                "write expect: {kiln conductors: {minimum size: 4 AWG}}",
            )

    def _assumed(self, listed: Any) -> set[tuple[str, str]]:
        """The told facts that nobody said: what a survey took for granted and wrote down as
        `circuits.kiln.conductors/material`, so that no answer shows them as said.
        """
        out: set[tuple[str, str]] = set()
        for text in listed if isinstance(listed, list) else [listed]:
            thing, _, fact = text.rpartition("/") if isinstance(text, str) else ("", "", "")
            if thing in self.things and fact in self.things[thing][0].told:
                out.add((thing, fact))
            elif not self.faults.items:  # else it may only follow from what is wrong above
                self.faults.add(
                    "job-form",
                    place_of(text, Place(self.name)),
                    f"{_quoted(text)} is no fact that this job tells",
                    "write the thing and the fact, as in circuits.kiln.conductors/material; or take"
                    " the line out where it is known by now",
                )
        return out

    def origin(self, thing: str, fact: str) -> str:
        """Where a told fact came from: somebody said it, or nobody did."""
        if (thing, fact) in self.put_in:
            return "designed"
        return "assumed" if (thing, fact) in self.assumed else "told"

    # ---- making things
    def _make(self, id_: str, kind: str, name: str, body: Any, whole: Thing | None) -> Thing:
        k, shape = self.k.words.kinds[kind], shape_of(self.k, kind)
        x: list = [None] * self.k.width[kind]
        meta = x[0] = Meta(id_, kind, name)
        meta.whole, meta.units = whole, shape.units
        # told at once and with what was found so far: reading on would take memory for nothing
        if len(self.things) >= THINGS:
            raise Faults(
                [
                    *self.faults.items,
                    Fault(
                        "too-many-things",
                        place_of(body, Place(self.name)) if body else Place(self.name),
                        f"this job describes more than {THINGS:,} things",
                        "divide it",
                    ),
                ]
            )
        self.things[id_] = x
        self.by_kind[kind].append(x)
        if whole is not None and whole[0].kind in k.words:
            self._tell(x, k.words[whole[0].kind], whole)
        if id_ != "job" and "job" in k.words:
            self._tell(x, k.words["job"], self.things["job"])
        for w in shape.wholes if whole is not None else ():  # a part of one whole has no other
            if x[w.slot] is None:
                x[w.slot] = NONE
        # read on as of nothing told: its faults and those of what follows are told in one round
        if not isinstance(body, dict):
            at, what = place_of(body, Place(self.name)), f"{id_} is {a_noun(kind)}: "
            what += f"{_quoted(body)} does not describe one"
            todo = self._described(k, name, body)
            if isinstance(body, str):
                self.faults.add("describes-none", at, what, todo)
            else:
                self.faults.add("job-form", at, what, todo)
            body = {}
        said = self._placing.spread(id_, k, self._said(x, k, body))
        for canon, (key, v) in said.items():
            if canon in k.short:
                self._through_short(x, k, canon, key, v)
            elif not k.words[canon].part:
                with self.faults.catching():
                    self.fact(x, k.words[canon], key, v)
        # every part, told or not: a plain part always exists, and rules ask for it
        for w in shape.parts:
            with self.faults.catching():
                self._part(x, w, *said.get(w.name, (None, None)))
        # last, since what tells that there is none may stand anywhere in what was said
        for w in shape.nones:
            ways = w.none_where if w.name not in said else ()
            if any(all(self._told_so(x, *test) for test in tests) for tests in ways):
                self._tell(x, w, NONE)
        return x

    def _said(self, x: Thing, k: Kind, body: dict) -> dict[str, tuple]:
        """What a person said of a thing, by the names of its facts; what is no fact of it is kept
        aside.
        """
        said: dict[str, tuple] = {}
        for key, v in body.items():
            canon = self._key(k, key)
            if canon is None:
                told = self._choice_as_key(k, key, v)
                if told is not None:
                    canon, v = told
            if canon is None:
                self._aside(k, key, v, x)
            elif str(key) != canon and self._speaks(k, canon, key, v):
                self.also_said.append(
                    AlsoSaid(x[0].id, str(key).strip(), text_of(v), place_of(key, Place(self.name)))
                )
            elif canon in said:
                self.faults.add(
                    "written-twice",
                    place_of(key),
                    f'"{key}" and "{said[canon][0]}" both say the {canon} of {x[0].id}',
                    "keep one of them",
                )
            else:
                said[canon] = (key, v)
        return said

    def _speaks(self, k: Kind, canon: str, key: Any, v: Any) -> bool:
        """Note a subject that is spoken of by another name of a yes or no (`generator: yes`);
        whether it is described, which is no yes or no.
        """
        word = k.words.get(canon)
        text = str(v).lower()
        if word is None or word.type[0] != "flag" or text in (*NO, *UNKNOWN, "none"):
            return False
        spoken = any(
            spoken_of(kind, [str(key)]) for kind in self.k.words.kinds.values() if kind.spoken
        )
        if spoken:
            self._subjects.append(str(key))
        return spoken and text not in YES

    def _choice_as_key(self, k: Kind, key: Any, v: Any) -> tuple[str, Text] | None:
        """The fact, and its value, of a choice that is written as if it were a fact: `hard-wired:
        yes`.
        """
        if str(v).lower() not in YES:
            return None
        flat = str(key).strip().lower()
        shape = shape_of(self.k, k.name)
        found = [
            (w.name, choices[flat])
            for w in k.words.values()
            if w.type[0] == "choice" and w.ask and flat in (choices := shape.choices_of(w))
        ]
        if len(found) != 1:
            return None
        return found[0][0], Text(found[0][1], place_of(key, Place(self.name)))

    def _aside(self, k: Kind, key: Any, v: Any, x: Thing) -> None:
        """Keep what is no fact of *x*; of a near miss of one, tell the fault."""
        at, whole = place_of(key, Place(self.name)), x[0].whole
        kinds = self.k.words.kinds
        around = kinds[whole[0].kind] if whole is not None else None
        fault = self._unknown.refused(k, around, str(key).strip(), x[0].id, at)
        if fault is not None:
            self.faults.take(fault)
        else:
            self.also_said.append(AlsoSaid(x[0].id, str(key).strip(), text_of(v), at))

    @property
    def read_as(self) -> list[ReadAs]:
        """What was written in a form of people's own, and what it was read as."""
        return self._placing.read_as

    @staticmethod
    def _told_so(x: Thing, path: tuple, wanted: bool, value: str) -> bool:
        """Is what is told at the end of *path* that *value* (or, not *wanted*, anything but it)?"""
        for name in path[:-1]:
            x = x[0].told.get(name)
            if not isinstance(x, list):  # a faulty job may lack even a part that always exists
                return not wanted
        told = x[0].told.get(path[-1])
        said = ("no", "yes")[told] if isinstance(told, bool) else told
        return (said == value) is wanted

    def _speak_of(self) -> None:
        """Make a thing of each subject that somebody spoke of, and that has an article of its own:
        in the title, a name, or a word that nothing here uses.
        """
        x = self.things["job"]
        for w in shape_of(self.k, "job").parts:
            kind, there = self.k.words.kinds[w.type[1]], x[w.slot]
            if kind.spoken and isinstance(there, Members) and not there:
                for choice in spoken_of(kind, self._spoken()):
                    at = place_of(self.body, Place(self.name))
                    body = Mapping({Text(kind.spoken, at): Text(choice, at)})
                    body.at = at
                    there.append(self._make(f"{w.name}.{choice}", kind.name, choice, body, x))

    def _spoken(self) -> Iterator[str]:
        """All that a person wrote in his own words."""
        yield self.title
        yield from self._subjects
        for x in self.things.values():
            if not self.k.words.kinds[x[0].kind].unspoken:
                yield x[0].name
        for also in self.also_said:
            yield also.key
            yield also.text

    def _described(self, k: Kind, name: str, text: object) -> str:
        """How to describe a thing of which a person wrote a value or two alone: `load: kiln` is
        `load: {type: kiln}`.
        """
        write = "write " if name.isdigit() else f"write {name}: "  # in a list a thing has no name
        if not isinstance(text, str) or len(text) > 80:  # nobody's value
            return "write {fact: value, ...}"
        if text.lower() in NO:
            return f"write {name}: none, if there is none"
        unclear = self._placing.alone.unclear(k, text)
        if unclear is not None:
            return (
                which_choice(*unclear, Place()).what + ": " + which_choice(*unclear, Place()).todo
            )
        tokens, told, elsewhere, rest = text.split(), {}, [], False
        # the longest piece first: `NM-B cable` is one thing, and `cable` another
        while tokens:
            for n in range(len(tokens), 0, -1):
                piece = " ".join(tokens[:n])
                if (hit := self._alone(k, piece)) and hit[0] not in told:
                    told[hit[0]] = hit[1]
                    break
                if fits := [
                    o
                    for o in self.k.words.kinds
                    if "method" in self.k.words.kinds[o].words
                    and (self._alone(self.k.words.kinds[o], piece) or ("",))[0] == "method"
                ]:
                    elsewhere.append(f"{piece} as the method of {a_noun(fits[0])}")
                    break
            else:
                n, rest = 1, True
            tokens = tokens[n:]
        alone = self._placing.alone
        if alone.read(k, text) is None and (hint := alone.hint(k, alone.stumbled)):
            return hint
        # what is understood is written out, so that only the rest is left to say
        if told:
            facts = ", ".join([*(f"{f}: {v}" for f, v in told.items()), *(["..."] if rest else [])])
            return f"{write}{{{facts}}}" + "".join(f", and {t}" for t in elsewhere)
        if NUMBER.fullmatch(text):
            return f"{write}{{fact: {text} and its unit}}"
        could = [w.name for w in self._fitting(k, text)]
        return (
            f"{write}{{FACT: {text}}}, and for FACT one of: {', '.join(could)}"
            if 1 < len(could) <= 8
            else "write {fact: value, ...}"
        )

    def _alone(self, k: Kind, text: str) -> tuple[str, str] | None:
        """(fact, value as it is to be written) of a value that is told without its fact; None where
        more than one may be meant.
        """
        size = k.words.get("size")
        # a cable, called by its conductors
        if (
            (m := re.fullmatch(r"(\d+)[/-]\d", text))
            and size is not None
            and size.type[0] == "row"
            and self._fits(size, f"{m[1]} AWG")
        ):
            return "size", f"{m[1]} AWG"
        rating = k.words.get("rating")
        if text.isdigit() and rating is not None and rating.type[0] == "q":
            return "rating", f"{text} {rating.type[2]}"
        fits = [w.name for w in self._fitting(k, text)]
        if NUMBER.fullmatch(text):  # of so many facts that nobody means the one that is left
            fits = [name for name in fits if name in k.said_first]
        # material, not EGC material
        usual = [f for f in fits if f in (*k.said_first, *k.said_alone)] or [
            f for f in fits if all(o == f or o.endswith(f" {f}") for o in fits)
        ]
        return (usual[0], text) if len(usual) == 1 or usual and usual[0] in k.said_first else None

    def _fitting(self, k: Kind, text: str) -> list[Word]:
        """The facts of a thing that a value alone may be, those that people say without their names
        first.
        """
        return [
            w
            for w in sorted(
                (w for w in k.words.values() if w.ask), key=lambda w: w.name not in k.said_first
            )
            if self._fits(w, text)
        ]

    def _fits(self, w: Word, text: str) -> bool:
        """Whether a fact may have the value *text*, or that somebody looked for one."""
        return self._value_alone(w, text) is not None

    def _value_alone(self, w: Word, text: str) -> str | None:
        """*text* as a value of a fact, written in full; None where it is none."""
        if w.may_be and text.lower() == w.may_be:
            return text
        try:
            if w.type[0] == "choice":
                return self._choice(w, text, Place(), Meta("", w.kind, ""))
            if w.type[0] == "row":
                return self._row(w, text, Place())
            if w.type[0] == "q":
                return self._amount_alone(w, text)
        except Fault:
            pass
        return None

    def _amount_alone(self, w: Word, text: str) -> str | None:
        """An amount with its unit; None of what is not usual: nobody says that without a name."""
        value, unit = parse_quantity(text, w.type[2])
        usual = w.usual
        if value < 0 or usual and not usual.table and not usual.least <= value <= usual.most:
            return None
        return text

    def told_alone(self, k: Kind, text: str) -> Word | None:
        """The fact that a value alone says of a thing: of a breaker `50 A` is its rating."""
        return next((w for w in self._fitting(k, text) if w.unit != "count"), None)

    def _tell(self, x: Thing, w: Word, v: Any) -> None:
        x[w.slot] = v
        x[0].told[w.name] = v

    @staticmethod
    def _key(k: Kind, key: Any) -> str | None:
        """The name of the fact that a person calls *key*; None where there is none."""
        if key in k.words or key in k.short or key in k.tells:
            return str(key)
        name = str(key).strip()
        for n in (
            name,
            name.lower(),
            straight(name),
            name.replace("_", " "),
            name.replace("-", " "),
            _without_the_kind(k, name),
        ):
            if n in k.words or n in k.short or n in k.tells:
                return n
            if n in k.aliases:
                return k.aliases[n]
        return k.folded.get(name.lower())

    def _through_short(self, x: Thing, k: Kind, canon: str, key: Any, v: Any) -> None:
        self.faults.add(
            "short-name-told",
            place_of(key, Place(self.name)),
            f'"{canon}" of {x[0].id} stands for "{" of ".join(reversed(k.short[canon]))}"',
            "tell it there",
        )

    # ---- parts
    def add_part(self, whole: str, part: str) -> Thing:
        """Take an optional part of which nobody spoke for there, with no fact of it told."""
        x = self.things[whole]
        self._part(x, self.k.words.kinds[x[0].kind].words[part], part, "yes")
        return self.things[f"{whole}.{part}"]

    def _part(self, x: Thing, w: Word, key: object, v: Any) -> None:
        """Take what was written of a part: a thing, the things of a list, or that there is none."""
        where = w.name if x[0].id == "job" else f"{x[0].id}.{w.name}"
        if w.part in ("many", "open"):
            self._tell(x, w, self._list_part(x, w, where, v))
        elif v is None:
            # a plain part is there though nobody told of it
            if w.part == "one":
                self._tell(x, w, self._make(where, w.type[1], w.name, Mapping(), x))
        elif str(v).lower() in ("none", *(NO if w.part == "optional" else ())):
            if w.part == "one":
                raise Fault(
                    "must-exist",
                    place_of(v),
                    f"{where} always exists",
                    "leave the line out if nothing is known of it",
                )
            self._tell(x, w, NONE)
        elif str(v).lower() in YES and w.part == "optional":  # there is one, and no more is known
            self._tell(x, w, self._make(where, w.type[1], w.name, Mapping(), x))
        elif str(v) not in UNKNOWN:
            self._tell(x, w, self._make(where, w.type[1], w.name, v, x))

    def _list_part(self, whole: Thing, word: Word, where: str, v: Any) -> Members:
        """The things of a list that is a part of *whole*; open where there may be more of them."""
        if v is None:
            # A list that was not written is unknown, and empty where it is the job's own.
            own = whole[0].id == "job" and word.part != "open"
            return Members() if own else OpenMembers()
        if str(v) == "none":
            return Members()
        if isinstance(v, str) and v.lower() in UNKNOWN:
            return OpenMembers()
        more = word.part == "open"
        if isinstance(v, dict):
            named = self._named(word, where, v)
        elif isinstance(v, list):
            more = more or any(isinstance(b, str) and str(b) == "and more" for b in v)
            bodies = [b for b in v if str(b) != "and more"]
            named = [(str(number), body) for number, body in enumerate(bodies, 1)]
        else:
            raise self._no_list(word, where, v)
        found = OpenMembers() if more else Members()
        for name, body in named:
            self._name_ok(name, word, where)
            found.append(self._make(f"{where}.{name}", word.type[1], str(name), body, whole))
        return found

    def _named(self, word: Word, where: str, v: dict[Any, Any]) -> list[tuple[Any, Any]]:
        """The things of a list, by name.

        Raises:
            Fault: they are the facts of one thing, that should be a list of one.
        """
        named = list(v.items())
        words = self.k.words.kinds[word.type[1]].words
        facts = all(not isinstance(body, dict) and str(name) in words for name, body in named)
        if named and facts:
            raise Fault(
                "job-form",
                place_of(v),
                f"{where} is a list",
                f"write {word.name}: [{{{named[0][0]}: {named[0][1]}, ...}}]",
            )
        return named

    def _no_list(self, word: Word, where: str, v: Any) -> Fault:
        """One value where a list should be: say how the list is written, with the value in it."""
        alone = self._alone(self.k.words.kinds[word.type[1]], str(v))
        body = f"{alone[0]}: {alone[1]}" if alone else "..."
        return Fault(
            "job-form",
            place_of(v),
            f"{where} is a list",
            f"write {word.name}: [{{{body}}}] or {word.name}: {{name: {{...}}}}",
        )

    def _name_ok(self, name: object, w: Word, sub: str) -> None:
        """A thing's name is printed, and asked for: one line, nothing that means something else."""
        n, at = str(name), place_of(name, Place(self.name))
        if (
            not n.strip()
            or n.startswith("-")
            or "." in n
            or "@" in n
            or n.lower() in ("unknown", "not known", "none", "and more")
            or "\n" in n
            or len(n) > 80
        ):
            todo = (
                "write a space after the hyphen"
                if n.startswith("-") and n[1:2] != " "
                else "call it by a word or two, without dots"
            )
            self.faults.add(
                "thing-name", at, f'"{" ".join(n.split())}" is no name for a thing of {sub}', todo
            )

    # ---- facts
    def fact(self, x: Thing, w: Word, key: object, v: Any) -> None:
        """Read one value: what it tells of *x*.

        Raises:
            Fault: it is no value of this fact.
        """
        at, meta = place_of(v, Place(self.name)), x[0]
        v = _as_text(v, at)
        if w.type[0] in ("ref", "many"):
            self._link(x, w, key, v, at)
            return
        if isinstance(v, (list, dict)):
            raise Fault("job-form", at, f'"{key}" of {meta.id} is one value', self._example(w))
        text = _unquoted(str(v).strip(), w)
        if text.lower() in UNKNOWN:
            return
        if _says_unmarked(text, w):
            meta.looked.add(w.name)
            meta.written[w.name] = (w.may_be, None, at)
            return
        unit: str | None = None
        value: Any
        if w.type[0] == "q":
            text, unit, value = self._quantity(w, key, text, meta, at)
        elif w.type[0] == "flag":
            value = _yes_or_no(w, text, meta, at)
        elif w.type[0] == "choice":
            value = self._choice(w, text, at, meta)
        elif w.type[0] == "row":
            value = self._row(w, text, at)
        else:
            value = text
        self._tell(x, w, value)
        meta.written[w.name] = (text, unit, at)

    def _link(self, x: Thing, w: Word, key: object, v: Any, at: Place) -> None:
        """Take the names that a link was told; they are looked up when all things are read.

        Raises:
            Fault: a thing is described where it should be named, or several are named for one.
        """
        sort, kind = w.type[0], w.type[1]
        described = isinstance(v, list) and not all(isinstance(n, str) for n in v)
        if isinstance(v, dict) or described:
            raise Fault(
                "job-form",
                at,
                f'"{key}" of {x[0].id} is the name of {a_noun(kind)}',
                f"write {key}: and its name; describe it where {kind}s are listed",
            )
        if sort == "ref" and isinstance(v, list) and len(v) != 1:
            raise Fault(
                "job-form",
                at,
                f'"{key}" of {x[0].id} is one {kind}, and {len(v)} are named',
                "name one",
            )
        names = [str(n) for n in v] if isinstance(v, list) else [str(v)]
        self._links.append((x, w, names, at, v))

    def _quantity(
        self, w: Word, key: object, text: str, meta: Meta, at: Place
    ) -> tuple[str, str | None, Any]:
        """The text of an amount as it is taken, the unit it is written in, and its value.

        Raises:
            Fault: it is no amount of this fact, or none that can be.
        """
        text, meant = _without_meant(text)
        text = w.means.get(text, text)
        base = w.type[2]
        value, unit = self._amount(w, key, text, at)
        if value < 0 and base != "°C":
            raise Fault(
                "negative",
                at,
                f'"{text}": the {w.name} of {meta.id} cannot be less than nothing',
                "take the sign away, or leave the line out",
            )
        if base == "°C" and value < -273 * 9:
            raise Fault(
                "too-cold",
                at,
                f'"{text}" is colder than cold can be',
                "check the number and its unit",
            )
        if w.usual:
            self._ask_about(w, value, text, meant, meta, at)
        return text, unit, value

    def _amount(self, w: Word, key: object, text: str, at: Place) -> tuple[Number, str]:
        """An amount as people write it: `kW: 9.6` says its unit by its name, of some facts nobody
        measures in any other (`bare`), and some are sums.
        """
        base = w.type[2]
        if base == "date":
            return parse_quantity(said_day(text, at).isoformat(), base, at)
        if w.summed and (sum_ := _sum_of(text, base, w.bare, at)) is not None:
            return sum_, w.bare or base
        try:
            return parse_quantity(text, base, at)
        except Fault as fault:
            by_name = unit_of((str(key).split() or [""])[-1])
            named = by_name in UNITS and dimension(str(by_name)) == dimension(base)
            unit = by_name if named else w.bare
            if fault.code == "unit-missing" and unit:
                return parse_quantity(f"{text} {unit}", base, at)
            self._hint(fault, w, text)
            raise

    def _hint(self, fault: Fault, w: Word, text: str) -> None:
        """Say what to write where an amount has no unit that this fact has."""
        if fault.code == "not-a-quantity" and w.may_be:
            fault.todo += f", or {w.may_be}"
        elif fault.code == "wrong-unit":
            other = self.k.words.kinds[w.kind].aliases.get(text.split()[-1])
            if other:
                # 2 kW are no horsepower, and a power
                fault.todo += f"; or tell {other}: {text}"

    def _ask_about(
        self, w: Word, value: Number, text: str, meant: bool, meta: Meta, at: Place
    ) -> None:
        """Raise Fault where *value* is not what is usual, unless somebody says that it is meant;
        nought never is.
        """
        assert w.usual is not None
        made: list[Number] = []
        if w.usual.table:
            table = self.k.tables.get(w.usual.table)
            listed = {r[next(iter(table.keys))] for r in table.rows} if table else set()
            made = sorted({*listed, *w.usual.more})
            if not listed or value in made:
                return
            what = f'"{text}": {w.usual.table} lists no {w.name} of that size'
            ends = [max((m for m in made if m < value), default=None)]
            ends += [min((m for m in made if m > value), default=None)]
            near = " and ".join(show_number(m, w.unit) for m in ends if m is not None)
            near = f"the nearest {'are' if ' and ' in near else 'is'} {near}"
            nothing = value == 0
        else:
            if w.usual.least <= value <= w.usual.most:
                return
            what = f'"{text}" is not usual for the {w.name} of {meta.id}: {w.usual.said} is'
            near = ""
            nothing = value == 0 < w.usual.least
        # no `(meant)` is offered: whoever writes 0 A does not know it yet, and a load of nothing
        # passes
        if nothing:
            raise Fault("not-usual", at, what, "leave the line out if it is not known")
        if not meant:
            if slip := self._slip(w, text, made):
                near = f"did you mean {slip}?"
            sure = f'if {text} is meant, write "{text} (meant)"'
            asked = near.endswith("?")
            todo = (
                f"{near} {sure[0].upper()}{sure[1:]}"
                if asked
                else f"{near}; {sure}"
                if near
                else sure
            )
            raise Fault("not-usual", at, what, todo)

    @staticmethod
    def _slip(w: Word, text: str, made: list[Number]) -> str:
        """The same number in the unit that is the usual one, where that makes it usual, or one of
        those that are *made*: 48 A for 48 mA, 75 °C for 75 °F.

        No other unit is offered: nobody who wrote amperes meant a thousandth of them.
        """
        number = re.match(r"[-+]?[\d., /-]*\d", text)
        if number is None or w.usual is None:
            return ""
        for unit in (w.unit, *(("°F",) if w.unit in POINTS else ())):
            slip = f"{number[0]} {unit}"
            try:
                value = parse_quantity(slip, str(w.unit))[0]
            except Fault:
                continue
            if value in made or not made and w.usual.least <= value <= w.usual.most:
                return slip
        return ""

    def _choice(self, w: Word, text: str, at: Place, meta: Meta) -> str:
        low, flat = shape_of(self.k, w.kind).choices_of(w), text.lower().strip()
        if flat in low:
            return low[flat]
        for form in (
            flat.replace("_", " "),
            re.sub(r"^(a|an|the) ", "", flat),
            flat.replace("nema ", ""),
            re.sub(r"(?<=\d)r$", "", flat.replace("nema ", "")),
        ):
            if form in low:
                return low[form]
        if flat in w.may_mean:
            raise which_choice(w, text.strip(), at)
        known = [*w.type[1], *w.means]
        meant = (suggest(text, names) for names in (w.type[1], known, w.may_mean))
        todo = next((t for t in meant if t.startswith(HINTS)), "") or _nearest_of(text, w)
        raise Fault("not-a-choice", at, f'"{text}" is no {w.name} of {a_noun(meta.kind)}', todo)

    def _row(self, w: Word, text: str, at: Place) -> str:
        table = self.k.tables[w.type[1]]
        key = next(iter(table.keys)) if "size" not in table.keys else "size"
        order = table.order(key)
        form = re.sub(r"^(no\.?|#|number)\s*", "", text.strip(), flags=re.I)
        form = {"0": "1/0", "00": "2/0", "000": "3/0", "0000": "4/0"}.get(form, form)
        form = re.sub(r"\s*(mcm|kcmil)\.?$", " kcmil", form, flags=re.I)
        form = re.sub(r"\s*(awg|gauge|ga)\.?$", " AWG", form, flags=re.I)
        tries = [text, form, f"{form} AWG", form.replace(" in", ""), form.rstrip('"')]
        for t in tries:
            if t in order:
                return t
        # 4 11/16 x 2 1/8 for 4-11/16 x 2-1/8 square, which no other begins with
        plain = re.sub(r"(\d) +(\d+/\d+)", r"\1-\2", re.sub(r'["″”]| in\b', "", form)).strip()
        begun = [row for row in order if row == plain or row.startswith(plain + " ")]
        if len(begun) == 1 and " " in plain:
            return begun[0]
        if begun and " " in plain:
            raise Fault(
                "no-such-size",
                at,
                f'"{text}" may be several sizes of {w.type[1].replace("-", " ")}',
                "write " + or_list(begun),
            )
        todo = suggest(text, order, 40)
        if (m := re.match(r"(\d+)[/-](\d)\b", text)) and f"{m[1]} AWG" in order:
            todo = f'write {m[1]} AWG: "{m[0]}" is a cable with {m[2]} such conductors'
        elif re.search(r"\dmm", text.replace(" ", "").lower()):
            todo = "write the size that is printed on it, in AWG or kcmil"
        elif not todo.startswith("did you mean"):
            todo = "sizes here: " + ", ".join(order)
        raise Fault(
            "no-such-size", at, f'"{text}" is no size of {w.type[1].replace("-", " ")}', todo
        )

    @staticmethod
    def _example(w: Word) -> str:
        return {"q": f"write {w.name}: 10 {w.unit}", "flag": f"write {w.name}: yes"}.get(
            w.type[0], f"write {w.name}: ..."
        )

    # ---- links between things
    def _tie(self) -> None:
        """Lead every link to the thing that it names, and every list that turns a link round to the
        things that name its own.
        """
        for x, w, names, at, _ in self._links:
            self._tie_link(x, w, names, at)
        there = [(xs, shape_of(self.k, kind)) for kind, xs in self.by_kind.items() if xs]
        for xs, shape in there:
            for w, slot in shape.backs:
                self._tie_back(xs, shape, w, slot)
        for xs, shape in there:
            for w in shape.ups:
                self._no_circles(xs, w)

    def _tie_link(self, x: Thing, w: Word, names: list[str], at: Place) -> None:
        """Lead one link to what its names say."""
        found: list[Any] = []
        more = False
        for name in names:
            if name in (*UNKNOWN, "and more"):
                more = True
            elif name == "none":
                found.append(NONE)
            else:
                found.extend(self._called(x, w, name, at))
        if w.type[0] == "many":
            listed = OpenMembers if more else Members
            self._tell(x, w, listed(y for y in found if y is not NONE))
        elif found:
            self._tell(x, w, found[0])
        x[0].written.setdefault(w.name, (", ".join(names), None, at))

    def _called(self, x: Thing, w: Word, name: str, at: Place) -> list[Thing]:
        """The one thing of that name; none, and a fault told, where there is none or several."""
        pool = self.by_kind[w.type[1]]
        hits = [y for y in pool if name in (y[0].name, y[0].id) or y[0].id.endswith("." + name)]
        # a whole name is clear though it may end another
        hits = [y for y in hits if y[0].id == name] or hits
        if len(hits) > 1:
            self.faults.add(
                "link-unclear",
                at,
                f'"{name}" could be {" or ".join(y[0].id for y in hits)}',
                "write the whole name",
            )
            return []
        if not hits:
            self.faults.add(
                "link-unknown",
                at,
                f'{x[0].id}: no {w.type[1]} is called "{name}"',
                suggest(name, [y[0].name for y in pool]) or f"this job describes no {w.type[1]}",
            )
        return hits

    def _tie_back(self, xs: list[Thing], shape: Shape, w: Word, slot: int) -> None:
        """List under each of *xs* the things whose link leads to it."""
        pool = self.by_kind[w.type[1]]
        loose = [y for y in pool if y[slot] is None]
        for x in xs:
            # What nobody hung anywhere may belong to any of them that does not hang on it.
            above = self._above(x, shape, slot) if loose else []
            more = any(not any(y is a for a in above) for y in loose)
            listed = OpenMembers if more else Members
            self._tell(x, w, listed(y for y in pool if y[slot] is x))

    @staticmethod
    def _above(x: Thing, shape: Shape, slot: int) -> list[Thing]:
        """What *x* hangs on: what leads up from it, what that hangs on in turn, and so on."""
        found: list[Thing] = []
        seen, rest = [x], [x]
        while rest:
            here = rest.pop()
            for up in shape.ups:
                over = here[up.slot]
                if not isinstance(over, list):
                    continue
                found.append(over)
                whose = over[slot]
                if isinstance(whose, list) and not any(whose is s for s in seen):
                    seen.append(whose)
                    rest.append(whose)
        return found

    def _no_circles(self, xs: list[Thing], w: Word) -> None:
        """A panel that feeds itself is a fault, whatever rules there are."""
        for x in xs:
            seen: list[Thing] = []
            y: Any = x
            while isinstance(y, list):
                if any(y is s for s in seen):
                    at = x[0].written.get(w.name, (None, None, Place(self.name)))[2]
                    self.faults.add(
                        "feeds-itself",
                        at,
                        f"{x[0].id} feeds itself",
                        "one of its feeders names the wrong panel",
                    )
                    break
                seen.append(y)
                nxt = y[w.slot] if y[0].kind == w.kind else None
                # the link leads to a thing that hangs on another of the kind
                if isinstance(nxt, list) and nxt[0].kind != w.kind:
                    onward = self.k.words.kinds[nxt[0].kind].words.get(w.kind)
                    nxt = nxt[onward.slot] if onward is not None else None
                y = nxt


def _without_the_kind(k: Kind, name: str) -> str:
    """A fact without the name of the thing before it: the breaker rating of a breaker."""
    for called in (k.name, *k.also):
        if name.lower().startswith(called + " "):
            return name[len(called) + 1 :].lower()
    return name


def _quoted(v: object) -> str:
    return f'"{v}"' if isinstance(v, str) else "a list" if isinstance(v, list) else f'"{v}"'


def _as_text(v: Any, at: Place) -> Any:
    """Python's own yes and no, numbers and dates as a person writes them: a job may be a dict."""
    if isinstance(v, bool):
        return Text("yes" if v else "no", at)
    if isinstance(v, (int, float)):
        return Text(str(v), at)
    if isinstance(v, datetime.date):
        return Text(v.isoformat(), at)
    return v


def _unquoted(text: str, w: Word) -> str:
    """A value without a word processor's quotes, which are no quotes to YAML."""
    if w.type[0] == "text":
        return text
    text = straight(text)
    if len(text) > 1 and text[0] == text[-1] and text[0] in "'\"":
        return text[1:-1].strip()
    return text


def _sum_of(text: str, unit: str, bare: str, at: Place) -> Number | None:
    """The total of what is written as a sum, or so many of each: 3 x 90, two 45s, 90 + 45; None
    where it is one amount.
    """
    counts = {w: n for n, w in enumerate("one two three four five six seven eight".split(), 1)}
    total: Any = 0
    pieces = re.split(r"\s*(?:\+|,|\band\b|&)\s*", text.strip())
    for piece in pieces:
        said = re.fullmatch(
            r"(?:(\w+)\s*[x×*]\s*|(\w+)\s+)?(\d+(?:\.\d+)?)\s*([^\ds]*?)\s*s?", piece, re.I
        )
        if said is None or len(pieces) == 1 and not (said[1] or said[2]):
            return None
        many = (said[1] or said[2] or "1").lower()
        count = counts.get(many) or (int(many) if many.isdigit() else 0)
        if not 0 < count <= MOST_OF_EACH:
            return None
        with_unit = f"{said[3]} {said[4] or bare or unit}"
        total += count * parse_quantity(with_unit, unit, at)[0]
    return total


def _says_unmarked(text: str, w: Word) -> bool:
    """Whether somebody looked for a marking and found none, in one of the ways people say so."""
    if not w.may_be:
        return False
    said = [w.may_be, "none", "no marking", "none found"]
    if w.may_be == "not marked":
        said.append("unmarked")
    return text.lower() in said


def _nearest_of(text: str, w: Word) -> str:
    """The choices nearest to what is none of them; all of them where they are few."""
    if len(w.type[1]) <= 5:
        return "known here: " + ", ".join(w.type[1])
    near = nearest(text, [*w.type[1], *w.means], len(w.type[1]) + len(w.means))
    choices = list(dict.fromkeys(w.means.get(one, one) for one in near))[:5]
    return f"nearest here: {', '.join(choices)} (all of them: whywire words {w.name})"


def _yes_or_no(w: Word, text: str, meta: Meta, at: Place) -> bool:
    """Read a yes or a no.

    Raises:
        Fault: it is neither.
    """
    low = text.lower()
    if low not in (*YES, *NO, "none"):
        raise Fault(
            "yes-or-no",
            at,
            f'"{text}": {w.name} of {meta.id} is yes or no',
            "write yes, no, or leave the line out if it is not known",
        )
    return low in YES


def _without_meant(text: str) -> tuple[str, bool]:
    """A quantity without the word that says it is what was meant, and whether it was there.

    >>> _without_meant("480 A (meant)"), _without_meant("48 A")
    (('480 A', True), ('48 A', False))
    """
    form = re.fullmatch(r"(.*\S)\s*\(\s*meant\s*\)", text, re.IGNORECASE)
    return (form[1], True) if form else (text, False)


def read_job(source: Any, knowledge: Knowledge, name: str | None = None) -> Job:
    """A job from a file's path or a mapping. Raises Faults with every slip in it."""
    if isinstance(source, (str, Path)):
        path = Path(source)
        shown = name or str(source)
        try:
            body = read_yaml(decode(read_bytes(path, shown), shown), shown)
        except Fault as f:
            raise Faults([f]) from None
        return Job(knowledge, mapping_alone(body, shown), shown)
    return Job(knowledge, mapping_alone(mapping_of(source), name or "job"), name or "job")


def mapping_alone(body: Any, name: str) -> Mapping:
    """*body*, where it is a mapping as a job is one. Raises Faults for a list or a word."""
    if not isinstance(body, dict):
        raise Faults(
            [
                Fault(
                    "job-form",
                    Place(name),
                    "a job is a mapping: job: its title, circuits: ...",
                    "see the shipped jobs in kb/jobs for the form",
                )
            ]
        )
    # a dict that was read from a file, or made by `mapping_of`, has its place
    return cast(Mapping, body)


def mapping_of(v: Any, at: Place = Place("job")) -> Any:
    """A plain dict or list as what a file would have been read into."""
    if isinstance(v, (Mapping, Items, Text)):
        return v
    if isinstance(v, dict):
        out = Mapping((Text(str(k), at), mapping_of(x, at)) for k, x in v.items() if x is not None)
        out.at = at
        return out
    if isinstance(v, (list, tuple)):
        items = Items(mapping_of(x, at) for x in v)
        items.at = at
        return items
    if isinstance(v, bool):
        return Text("yes" if v else "no", at)
    return Text(str(v), at)

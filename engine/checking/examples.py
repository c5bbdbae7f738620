"""Run the examples beside the rules.

An example names facts as the rule names them; a little thing is made that has those facts and no
others. So an example needs no job, and says something about one rule only: its exceptions are not
looked at.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, TypeAlias

from ..basics.errors import Collector, Fault, Place, suggest
from ..basics.limits import CASES
from ..basics.reading import Text, place_of
from ..basics.sentinels import NONE
from ..basics.units import SOME, Range, both, parse_quantity, show_number
from ..language import expressions as ex
from ..language.knowledge import Knowledge
from ..language.rules import EDITIONS, JUDGING, Rule
from ..language.things import Members, Meta, OpenMembers, Thing
from ..language.words import Word, a_noun, as_list
from ..running.chain import OFF, SET_ASIDE, TELL, World

KEYS = ("given", "answer", "gives", "holds", "sets aside", "edition", "note")
ANSWERS = ("passes", "fails", "cannot tell", "advice", OFF, "applies")
HOLDS = {"yes": True, "no": False, "cannot tell": None}
UNKNOWN = "unknown"

Given: TypeAlias = dict[str, Any]  # the facts of an example, as they are written


@dataclass
class Outcome:
    """One example run: does it come out as written?"""

    rule: str
    number: int
    at: Place
    ok: bool
    wanted: str
    got: str


class Stub:
    """Makes the things of one example."""

    def __init__(self, k: Knowledge) -> None:
        self.k = k

    def thing(self, kind: str, given: Given, name: str = "example") -> Thing:
        """A thing that has these facts and no others."""
        x: Thing = [None] * self.k.width[kind]
        x[0] = Meta(name, kind, name)
        for path, v in given.items():
            self.put(x, kind, path, v)
        return x

    def words(self, kind: str, path: Any) -> list[Word]:
        """The links that *path* names, and the fact at its end.

        Raises:
            Fault: it names no fact of the kind, or leads on from one that is no thing.
        """
        out: list[Word] = []
        for a in self.k.words.spell(
            kind, tuple(n.strip() for n in reversed(str(path).split(" of ")))
        ):
            if out and out[-1].type[0] != "ref":
                raise Fault(
                    "example-word",
                    place_of(path),
                    f'the example names "{path}", and "{out[-1].name}" is not one thing',
                    "see the form in kb/README.md",
                )
            kind = out[-1].type[1] if out else kind
            w = self.k.words.kinds[kind].words.get(a)
            if w is None:
                raise Fault(
                    "example-word",
                    place_of(path),
                    f'the example names "{path}", and {a_noun(kind)} has no "{a}"',
                    suggest(a, self.k.words.known(kind)),
                )
            out.append(w)
        return out

    def put(self, x: Thing, kind: str, path: Any, v: Any) -> None:
        """Set one fact, and make the things on the way to it.

        Raises:
            Fault: there is no such fact, or it cannot be that.
        """
        *links, w = self.words(kind, path)
        for link in links:
            if x[link.slot] is None or x[link.slot] is NONE:
                x[link.slot] = self.thing(link.type[1], {}, link.name)
            x = x[link.slot]
        x[w.slot] = self.value(w, v, place_of(v, place_of(path)))

    def value(self, w: Word, v: Any, at: Place) -> Any:
        """What an example writes for a fact, as a cell has it.

        Raises:
            Fault: the fact cannot be that.
        """
        t = w.type
        if t[0] == "many":
            if isinstance(v, list) and all(isinstance(m, dict) for m in v):
                return Members(self.thing(t[1], m, f"{w.name}.{i}") for i, m in enumerate(v, 1))
            if isinstance(v, (list, dict)) or str(v) not in (UNKNOWN, "none"):
                raise Fault(
                    "example-value",
                    at,
                    f'"{w.name}" is a list of {t[1]}',
                    f"write {w.name}: [{{fact: value}}, ...], or unknown, or none",
                )
            return OpenMembers() if str(v) == UNKNOWN else Members()
        if isinstance(v, (list, dict)):
            raise Fault(
                "example-value",
                at,
                f'"{w.name}" is one value',
                "write one value, a range (0 A to 9 A, 5 A or more), or unknown",
            )
        text = str(v)
        if text == UNKNOWN:
            return None
        if text == "none":
            return NONE
        if t[0] == "q":
            return ranged(text, t[2], at)
        if t[0] == "flag":
            if text not in ("yes", "no"):
                raise Fault(
                    "example-value",
                    at,
                    f'"{text}": {w.name} is yes or no',
                    "write yes, no or unknown",
                )
            return text == "yes"
        if t[0] == "choice" and text not in t[1]:
            raise Fault("example-value", at, f'"{text}" is no {w.name}', suggest(text, t[1]))
        if t[0] == "row":
            rows = rows_of(self.k, t[1])
            if text not in rows:
                raise Fault(
                    "example-value", at, f'"{text}" is no row of {t[1]}', suggest(text, rows)
                )
        if t[0] == "ref":
            raise Fault(
                "example-value",
                at,
                f'"{w.name}" is another thing',
                f'write its facts: "rating of {w.name}"',
            )
        return text


def rows_of(k: Knowledge, table: str) -> list[str]:
    """The rows that a fact may be, in their order."""
    t = k.tables[table]
    return list(t.order("size" if "size" in t.keys else next(iter(t.keys))))


def applies(r: Rule, x: Thing) -> Any:
    """Do the conditions of *r* hold on *x*, in three answers."""
    return both([c.ev(x, None) for c in r.when])


def ranged(text: str, unit: str, at: Place) -> Any:
    """`60 A`, `37.5 in³ or more`, `0 A to 9 A`, `75 °C or less`.

    Raises:
        Fault: it is no amount in *unit*, or goes from the larger to the smaller.

    >>> ranged("5 A or more", "A", Place())
    Range(5, None)
    """
    if m := re.fullmatch(r"(.+?) or (more|less)", text):
        v = parse_quantity(m[1], unit, at)[0]
        return Range(v, None) if m[2] == "more" else Range(None, v)
    if m := re.fullmatch(r"(.+?) to (.+)", text):
        lo, hi = parse_quantity(m[1], unit, at)[0], parse_quantity(m[2], unit, at)[0]
        if hi < lo:
            raise Fault(
                "example-value",
                at,
                f'"{text}" goes from the larger to the smaller',
                "write the smaller first",
            )
        return Range(lo, hi)
    return parse_quantity(text, unit, at)[0]


def show(v: Any, unit: str | None) -> str:
    """A value in an example's own form."""
    if (word := ex.as_word(v)) is not None:
        return word
    if isinstance(v, Range):
        ends = [show_number(end, unit) for end in (v.lo, v.hi) if end is not None]
        if v.hi is None:
            return f"{ends[0]} or more"
        return f"{ends[0]} or less" if v.lo is None else " to ".join(ends)
    return show_number(v, unit)


def each(given: Any) -> Iterator[Any]:
    """The facts of an example with one choice for every `A | B`: what it says is so of each of
    them.

    Raises:
        Fault: it stands for more cases than are tried.

    >>> list(each({"method": "NM-B | UF-B", "length": "3 ft"}))
    [{'method': 'NM-B', 'length': '3 ft'}, {'method': 'UF-B', 'length': '3 ft'}]
    """
    n = _cases(given)
    if n > CASES:
        raise Fault(
            "too-many-cases",
            place_of(given),
            (
                f"this example stands for {n:,} cases, and {CASES} are tried"
                if n < 10**9
                else f"this example stands for more cases than the {CASES} that are tried"
            ),
            "name fewer choices, or write several examples",
        )
    yield from _each(given)


def _cases(given: Any) -> int:
    """How many cases an example stands for."""
    if isinstance(given, (dict, list)):
        n = 1
        for v in given.values() if isinstance(given, dict) else given:
            n = min(n * _cases(v), 10**9)
        return n
    return given.count(" | ") + 1 if isinstance(given, str) else 1


def _each(given: Any) -> Iterator[Any]:
    if isinstance(given, dict):
        for i, (path, v) in enumerate(given.items()):
            if len(values := list(_each(v))) > 1:
                for one in values:
                    yield from _each({**given, path: one})
                return
        yield given
    elif isinstance(given, list):
        for i, v in enumerate(given):
            if len(values := list(_each(v))) > 1:
                for one in values:
                    yield from _each([*given[:i], one, *given[i + 1 :]])
                return
        yield given
    elif isinstance(given, str) and " | " in given:
        yield from (Text(w.strip(), place_of(given)) for w in given.split(" | "))
    else:
        yield given


def _fired(k: Knowledge, r: Rule, given: Given) -> tuple[World, Thing]:
    """A thing with these facts, and what the rule says of it where nothing sets the rule aside."""
    w = World.__new__(World)
    w.k, w.fired = k, 0
    x = Stub(k).thing(r.about, given)
    for e in k.order.exceptions.get(r.id, ()):
        x[k.holds[e.id]] = False
    w.fire(r, x)
    return w, x


def run_example(k: Knowledge, r: Rule, d: Any, number: int) -> Outcome:
    """Run one example, on each choice of an `A | B` in it.

    Raises:
        Fault: it has another form than an example has, or names what is not there.
    """
    at = place_of(d, r.at)
    _check_keys(r, d, at)
    _check_expected(r, d, at)
    for given in each(d.get("given", {})) if in_edition(k, d) else ():
        told = [(wanted, got) for wanted, got, same in _compared(k, r, d, given) if not same]
        if told:
            return Outcome(
                r.id,
                number,
                at,
                False,
                ", ".join(w for w, _ in told),
                ", ".join(g for _, g in told),
            )
    return Outcome(r.id, number, at, True, "", "")


def _check_keys(r: Rule, d: Any, at: Place) -> None:
    """Refuse an example with a key that none takes, or with one in another form."""
    for key in d:
        if key not in KEYS:
            raise Fault(
                "example-key", place_of(key), f'an example takes no "{key}"', suggest(key, KEYS)
            )
    for key in ("given", "gives"):
        if not isinstance(d.get(key, {}), dict):
            raise Fault(
                "example-form",
                place_of(d[key], at),
                f'{r.id}: "{key}" of an example is {{fact: value, ...}}',
                f"write {key}: {{fact: value}}, or leave it out",
            )
    for key in ("answer", "holds"):
        if not isinstance(d.get(key, ""), str):
            raise Fault(
                "example-form",
                place_of(d[key]),
                f'{r.id}: "{key}" of an example is one word',
                f"write {key}: and what is expected",
            )


def _check_expected(r: Rule, d: Any, at: Place) -> None:
    """Refuse an example that expects nothing, two things at once, or what no rule answers."""
    if "answer" in d and ("gives" in d or "holds" in d):
        raise Fault(
            "example-form",
            at,
            f"{r.id}: this example expects an answer and more beside it",
            "write two examples",
        )
    for e in as_list(d.get("edition")):
        if str(e) not in EDITIONS:
            raise Fault(
                "edition", place_of(e, at), f'"{e}" is no edition', suggest(str(e), EDITIONS)
            )
    if not {"answer", "gives", "holds", "sets aside"} & set(d):
        raise Fault(
            "example-form",
            at,
            f"{r.id}: this example expects nothing",
            "add answer:, gives: or holds:",
        )
    if "answer" in d and str(d["answer"]) not in ANSWERS:
        raise Fault(
            "example-value",
            at,
            f'"{d["answer"]}" is no answer',
            suggest(str(d["answer"]), ANSWERS[:-1]),
        )
    if "holds" in d and str(d["holds"]) not in HOLDS:
        raise Fault(
            "example-value",
            at,
            f'holds is yes, no or cannot tell, not "{d["holds"]}"',
            "write holds: yes",
        )


def in_edition(k: Knowledge, d: Any) -> bool:
    """Whether an example speaks of the edition in force: of all of them, unless it names some."""
    return "edition" not in d or k.edition in map(str, as_list(d["edition"]))


def came_out(k: Knowledge, r: Rule, d: Any) -> list[str]:
    """What comes out of an example, for each thing that it expects; several where its choices
    differ.
    """
    return list(
        dict.fromkeys(
            "; ".join(got for _, got, _ in _compared(k, r, d, given))
            for given in each(d.get("given", {}))
        )
    )


def _compared(k: Knowledge, r: Rule, d: Any, given: Given) -> Iterator[tuple[str, str, bool]]:
    """(what is expected, what comes out, whether they are the same) of each thing that an example
    expects.
    """
    w, x = _fired(k, r, given)
    answer = x[k.slots[r.id]]
    if "answer" in d:
        got = str(
            answer
            if r.verb in JUDGING
            else OFF
            if answer is False
            else TELL
            if answer is None
            else "applies"
        )
        yield str(d["answer"]), got, got == str(d["answer"])
    if "holds" in d:
        on = applies(r, x)
        got = next(t for t, v in HOLDS.items() if v is on)
        yield f"holds: {d['holds']}", f"holds: {got}", got == str(d["holds"])
    for fact, want in (d.get("gives") or {}).items():
        word = k.words.kinds[r.about].words.get(str(fact))
        if word is None or (r.id, str(fact)) not in k.results:
            raise Fault(
                "example-word",
                place_of(fact),
                f'{r.id} does not fill "{fact}"',
                suggest(str(fact), [f.word.name for f in r.fills]),
            )
        v = x[k.results[r.id, word.name]] if answer is True else None
        target = Stub(k).value(word, want, place_of(want, place_of(fact)))
        # what reads the same is the same: nobody writes a root to its last place
        got = show(v, word.unit)
        yield (
            f"{fact}: {want}",
            f"{fact}: {got}",
            v == target or got == str(want) or word.type[0] == "q" and v is None and target == SOME,
        )
    for name in as_list(d.get("sets aside")):
        got = _aside(k, r, w, x, name)
        yield f"sets aside: {name}", got, got == f"sets aside: {name}"


def _aside(k: Knowledge, r: Rule, w: World, x: Thing, name: Any) -> str:
    """Whether *r* sets aside a rule that has something to say of *x*, which is no exception from
    another.
    """
    other = k.rules.get(str(name))
    if other is None and str(name) not in k.absent:
        raise Fault(
            "no-such-rule",
            place_of(name),
            f'the example names "{name}", and there is no such rule',
            suggest(str(name), k.rules),
        )
    if other is None:
        return f"sets aside: {name}"
    for e in k.order.exceptions.get(other.id, ()):
        if e.id != r.id:
            x[k.holds[e.id]] = False
    w.fire(other, x)
    said = w.answer(other, x)
    return (
        f"sets aside: {name}"
        if said == SET_ASIDE and other.id in r.exception_to
        else f"{name}: {x[k.slots[other.id]] if said == SET_ASIDE else said}"
    )


def expectation(k: Knowledge, r: Rule, given: Given) -> dict[str, Any]:
    """What an example with these facts has to expect to come out as written."""
    _, x = _fired(k, r, given)
    answer = x[k.slots[r.id]]
    if r.verb in JUDGING:
        return {"answer": answer}
    if answer is False:
        return {"answer": OFF} if r.fills else {"holds": "no"}
    if answer is None:
        return {"holds": "cannot tell"}
    return (
        {
            "gives": {
                f.word.name: show(x[k.results[r.id, f.word.name]], f.word.unit) for f in r.fills
            }
        }
        if r.fills
        else {"holds": "yes"}
    )


def run_examples(k: Knowledge, only: str | None = None) -> tuple[list[Outcome], Collector]:
    """Every example of every rule, and the faults found on the way: one of them hides no other."""
    faults = Collector()
    out: list[Outcome] = []
    todo = "see kb/README.md, Examples"
    for rule in k.rules.values():
        if only and rule.id != only:
            continue
        examples = rule.d.get("examples", [])
        if not isinstance(examples, list):
            faults.add("example-form", rule.at, f'{rule.id}: "examples" is a list', todo)
            continue
        for number, example in enumerate(examples, 1):
            if not isinstance(example, dict):
                what = f"{rule.id}: an example is {{given: ..., answer: ...}}"
                faults.add("example-form", place_of(example, rule.at), what, todo)
                continue
            with faults.catching():
                out.append(run_example(k, rule, example, number))
    return out, faults

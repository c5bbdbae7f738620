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
from ..language.forms import EXAMPLE
from ..language.knowledge import Knowledge
from ..language.rules import EDITIONS, JUDGING, Rule
from ..language.things import Members, Meta, OpenMembers, Thing
from ..language.words import Word, a_noun, as_list
from ..running.chain import OFF, SET_ASIDE, TELL, World

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

    def __init__(self, knowledge: Knowledge) -> None:
        self.k = knowledge

    def thing(self, kind: str, given: Given, name: str = "example") -> Thing:
        """A thing that has these facts and no others."""
        thing: Thing = [None] * self.k.width[kind]
        thing[0] = Meta(name, kind, name)
        for path, value in given.items():
            self.put(thing, kind, path, value)
        return thing

    def words(self, kind: str, path: Any) -> list[Word]:
        """The links that *path* names, and the fact at its end.

        Raises:
            Fault: it names no fact of the kind, or leads on from one that is no thing.
        """
        out: list[Word] = []
        for name in self.k.words.spell(
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
            word = self.k.words.kinds[kind].words.get(name)
            if word is None:
                raise Fault(
                    "example-word",
                    place_of(path),
                    f'the example names "{path}", and {a_noun(kind)} has no "{name}"',
                    suggest(name, self.k.words.known(kind)),
                )
            out.append(word)
        return out

    def put(self, thing: Thing, kind: str, path: Any, value: Any) -> None:
        """Set one fact, and make the things on the way to it.

        Raises:
            Fault: there is no such fact, or it cannot be that.
        """
        *links, word = self.words(kind, path)
        for link in links:
            # another fact of the same part may have made it, and is kept
            if thing[link.slot] is None or thing[link.slot] is NONE:
                thing[link.slot] = self.thing(link.type[1], {}, link.name)
            thing = thing[link.slot]
        thing[word.slot] = self.value(word, value, place_of(value, place_of(path)))

    def value(self, word: Word, value: Any, at: Place) -> Any:
        """What an example writes for a fact, as a cell has it.

        Raises:
            Fault: the fact cannot be that.
        """
        of_type = word.type
        if of_type[0] == "many":
            if isinstance(value, list) and all(isinstance(m, dict) for m in value):
                return Members(
                    self.thing(of_type[1], m, f"{word.name}.{i}") for i, m in enumerate(value, 1)
                )
            if isinstance(value, (list, dict)) or str(value) not in (UNKNOWN, "none"):
                raise Fault(
                    "example-value",
                    at,
                    f'"{word.name}" is a list of {of_type[1]}',
                    f"write {word.name}: [{{fact: value}}, ...], or unknown, or none",
                )
            return OpenMembers() if str(value) == UNKNOWN else Members()
        if isinstance(value, (list, dict)):
            raise Fault(
                "example-value",
                at,
                f'"{word.name}" is one value',
                "write one value, a range (0 A to 9 A, 5 A or more), or unknown",
            )
        text = str(value)
        if text == UNKNOWN:
            return None
        if text == "none":
            return NONE
        if of_type[0] == "q":
            return ranged(text, of_type[2], at)
        if of_type[0] == "flag":
            if text not in ("yes", "no"):
                raise Fault(
                    "example-value",
                    at,
                    f'"{text}": {word.name} is yes or no',
                    "write yes, no or unknown",
                )
            return text == "yes"
        if of_type[0] == "choice" and text not in of_type[1]:
            raise Fault(
                "example-value", at, f'"{text}" is no {word.name}', suggest(text, of_type[1])
            )
        if of_type[0] == "row":
            rows = rows_of(self.k, of_type[1])
            if text not in rows:
                raise Fault(
                    "example-value", at, f'"{text}" is no row of {of_type[1]}', suggest(text, rows)
                )
        if of_type[0] == "ref":
            raise Fault(
                "example-value",
                at,
                f'"{word.name}" is another thing',
                f'write its facts: "rating of {word.name}"',
            )
        return text


def rows_of(knowledge: Knowledge, table: str) -> list[str]:
    """The rows that a fact may be, in their order."""
    listed = knowledge.tables[table]
    return list(listed.order("size" if "size" in listed.keys else next(iter(listed.keys))))


def applies(rule: Rule, thing: Thing) -> Any:
    """Do the conditions of *rule* hold on *thing*, in three answers."""
    return both([c.ev(thing, None) for c in rule.when])


def ranged(text: str, unit: str, at: Place) -> Any:
    """`60 A`, `37.5 in³ or more`, `0 A to 9 A`, `75 °C or less`.

    Raises:
        Fault: it is no amount in *unit*, or goes from the larger to the smaller.

    >>> ranged("5 A or more", "A", Place())
    Range(5, None)
    """
    if match := re.fullmatch(r"(.+?) or (more|less)", text):
        value = parse_quantity(match[1], unit, at)[0]
        return Range(value, None) if match[2] == "more" else Range(None, value)
    if match := re.fullmatch(r"(.+?) to (.+)", text):
        lo, hi = parse_quantity(match[1], unit, at)[0], parse_quantity(match[2], unit, at)[0]
        if hi < lo:
            raise Fault(
                "example-value",
                at,
                f'"{text}" goes from the larger to the smaller',
                "write the smaller first",
            )
        return Range(lo, hi)
    return parse_quantity(text, unit, at)[0]


def show(value: Any, unit: str | None) -> str:
    """A value in an example's own form."""
    if (word := ex.as_word(value)) is not None:
        return word
    if isinstance(value, Range):
        ends = [show_number(end, unit) for end in (value.lo, value.hi) if end is not None]
        if value.hi is None:
            return f"{ends[0]} or more"
        return f"{ends[0]} or less" if value.lo is None else " to ".join(ends)
    return show_number(value, unit)


def each(given: Any) -> Iterator[Any]:
    """The facts of an example with one choice for every `A | B`: what it says is so of each of
    them.

    Raises:
        Fault: it stands for more cases than are tried.

    >>> list(each({"method": "NM-B | UF-B", "length": "3 ft"}))
    [{'method': 'NM-B', 'length': '3 ft'}, {'method': 'UF-B', 'length': '3 ft'}]
    """
    # counted before the first is made: a few lists of choices multiply to more than can be tried
    cases = _cases(given)
    if cases > CASES:
        raise Fault(
            "too-many-cases",
            place_of(given),
            (
                f"this example stands for {cases:,} cases, and {CASES} are tried"
                if cases < 10**9
                else f"this example stands for more cases than the {CASES} that are tried"
            ),
            "name fewer choices, or write several examples",
        )
    yield from _each(given)


def _cases(given: Any) -> int:
    """How many cases an example stands for."""
    if isinstance(given, (dict, list)):
        number = 1
        for value in given.values() if isinstance(given, dict) else given:
            number = min(number * _cases(value), 10**9)
        return number
    return given.count(" | ") + 1 if isinstance(given, str) else 1


def _each(given: Any) -> Iterator[Any]:
    if isinstance(given, dict):
        for place, (path, value) in enumerate(given.items()):
            if len(values := list(_each(value))) > 1:
                for one in values:
                    yield from _each({**given, path: one})
                return
        yield given
    elif isinstance(given, list):
        for place, value in enumerate(given):
            if len(values := list(_each(value))) > 1:
                for one in values:
                    yield from _each([*given[:place], one, *given[place + 1 :]])
                return
        yield given
    elif isinstance(given, str) and " | " in given:
        yield from (Text(word.strip(), place_of(given)) for word in given.split(" | "))
    else:
        yield given


def _fired(knowledge: Knowledge, rule: Rule, given: Given) -> tuple[World, Thing]:
    """A thing with these facts, and what the rule says of it where nothing sets the rule aside."""
    # a world without a job: one rule on one thing reads no more of it than this
    world = World.__new__(World)
    world.k, world.fired = knowledge, 0
    thing = Stub(knowledge).thing(rule.about, given)
    # an example is about its rule alone: whether another sets it aside, that one's examples show
    for exception in knowledge.order.exceptions.get(rule.id, ()):
        thing[knowledge.holds[exception.id]] = False
    world.fire(rule, thing)
    return world, thing


def run_example(knowledge: Knowledge, rule: Rule, example: Any, number: int) -> Outcome:
    """Run one example, on each choice of an `A | B` in it.

    Raises:
        Fault: it has another form than an example has, or names what is not there.
    """
    at = place_of(example, rule.at)
    _check_keys(rule, example, at)
    _check_expected(rule, example, at)
    for given in each(example.get("given", {})) if in_edition(knowledge, example) else ():
        told = [
            (wanted, got)
            for wanted, got, same in _compared(knowledge, rule, example, given)
            if not same
        ]
        if told:
            return Outcome(
                rule.id,
                number,
                at,
                False,
                ", ".join(w for w, _ in told),
                ", ".join(g for _, g in told),
            )
    return Outcome(rule.id, number, at, True, "", "")


def _check_keys(rule: Rule, example: Any, at: Place) -> None:
    """Refuse an example with a key that none takes, or with one in another form."""
    # the first is enough: an example with a key that none takes says something that nobody reads
    for key in EXAMPLE.strange(example):
        raise EXAMPLE.fault(key)
    for key in ("given", "gives"):
        if not isinstance(example.get(key, {}), dict):
            raise Fault(
                "example-form",
                place_of(example[key], at),
                f'{rule.id}: "{key}" of an example is {{fact: value, ...}}',
                f"write {key}: {{fact: value}}, or leave it out",
            )
    for key in ("answer", "holds"):
        if not isinstance(example.get(key, ""), str):
            raise Fault(
                "example-form",
                place_of(example[key]),
                f'{rule.id}: "{key}" of an example is one word',
                f"write {key}: and what is expected",
            )


def _check_expected(rule: Rule, example: Any, at: Place) -> None:
    """Refuse an example that expects nothing, two things at once, or what no rule answers."""
    if "answer" in example and ("gives" in example or "holds" in example):
        raise Fault(
            "example-form",
            at,
            f"{rule.id}: this example expects an answer and more beside it",
            "write two examples",
        )
    for edition in as_list(example.get("edition")):
        if str(edition) not in EDITIONS:
            raise Fault(
                "edition",
                place_of(edition, at),
                f'"{edition}" is no edition',
                suggest(str(edition), EDITIONS),
            )
    if not {"answer", "gives", "holds", "sets aside"} & set(example):
        raise Fault(
            "example-form",
            at,
            f"{rule.id}: this example expects nothing",
            "add answer:, gives: or holds:",
        )
    if "answer" in example and str(example["answer"]) not in ANSWERS:
        raise Fault(
            "example-value",
            at,
            f'"{example["answer"]}" is no answer',
            suggest(str(example["answer"]), ANSWERS[:-1]),
        )
    if "holds" in example and str(example["holds"]) not in HOLDS:
        raise Fault(
            "example-value",
            at,
            f'holds is yes, no or cannot tell, not "{example["holds"]}"',
            "write holds: yes",
        )


def in_edition(knowledge: Knowledge, example: Any) -> bool:
    """Whether an example speaks of the edition in force: of all of them, unless it names some."""
    return "edition" not in example or knowledge.edition in map(str, as_list(example["edition"]))


def came_out(knowledge: Knowledge, rule: Rule, example: Any) -> list[str]:
    """What comes out of an example, for each thing that it expects; several where its choices
    differ.
    """
    return list(
        dict.fromkeys(
            "; ".join(got for _, got, _ in _compared(knowledge, rule, example, given))
            for given in each(example.get("given", {}))
        )
    )


def _compared(
    knowledge: Knowledge, rule: Rule, example: Any, given: Given
) -> Iterator[tuple[str, str, bool]]:
    """(what is expected, what comes out, whether they are the same) of each thing that an example
    expects.
    """
    world, thing = _fired(knowledge, rule, given)
    answer = thing[knowledge.slots[rule.id]]
    if "answer" in example:
        got = str(
            answer
            if rule.verb in JUDGING
            else OFF
            if answer is False
            else TELL
            if answer is None
            else "applies"
        )
        yield str(example["answer"]), got, got == str(example["answer"])
    if "holds" in example:
        on = applies(rule, thing)
        got = next(t for t, value in HOLDS.items() if value is on)
        yield f"holds: {example['holds']}", f"holds: {got}", got == str(example["holds"])
    for fact, want in (example.get("gives") or {}).items():
        word = knowledge.words.kinds[rule.about].words.get(str(fact))
        if word is None or (rule.id, str(fact)) not in knowledge.results:
            raise Fault(
                "example-word",
                place_of(fact),
                f'{rule.id} does not fill "{fact}"',
                suggest(str(fact), [f.word.name for f in rule.fills]),
            )
        value = thing[knowledge.results[rule.id, word.name]] if answer is True else None
        target = Stub(knowledge).value(word, want, place_of(want, place_of(fact)))
        # what reads the same is the same: nobody writes a root to its last place
        got = show(value, word.unit)
        yield (
            f"{fact}: {want}",
            f"{fact}: {got}",
            value == target
            or got == str(want)
            or word.type[0] == "q"
            and value is None
            and target == SOME,
        )
    for name in as_list(example.get("sets aside")):
        got = _aside(knowledge, rule, world, thing, name)
        yield f"sets aside: {name}", got, got == f"sets aside: {name}"


def _aside(knowledge: Knowledge, rule: Rule, world: World, thing: Thing, name: Any) -> str:
    """Whether *rule* sets aside a rule that has something to say of *thing*, which is no exception
    from another.
    """
    other = knowledge.rules.get(str(name))
    if other is None and str(name) not in knowledge.absent:
        raise Fault(
            "no-such-rule",
            place_of(name),
            f'the example names "{name}", and there is no such rule',
            suggest(str(name), knowledge.rules),
        )
    if other is None:
        return f"sets aside: {name}"
    for exception in knowledge.order.exceptions.get(other.id, ()):
        if exception.id != rule.id:
            thing[knowledge.holds[exception.id]] = False
    world.fire(other, thing)
    said = world.answer(other, thing)
    return (
        f"sets aside: {name}"
        if said == SET_ASIDE and other.id in rule.exception_to
        else f"{name}: {thing[knowledge.slots[other.id]] if said == SET_ASIDE else said}"
    )


def expectation(knowledge: Knowledge, rule: Rule, given: Given) -> dict[str, Any]:
    """What an example with these facts has to expect to come out as written."""
    _, thing = _fired(knowledge, rule, given)
    answer = thing[knowledge.slots[rule.id]]
    if rule.verb in JUDGING:
        return {"answer": answer}
    if answer is False:
        return {"answer": OFF} if rule.fills else {"holds": "no"}
    if answer is None:
        return {"holds": "cannot tell"}
    return (
        {
            "gives": {
                f.word.name: show(thing[knowledge.results[rule.id, f.word.name]], f.word.unit)
                for f in rule.fills
            }
        }
        if rule.fills
        else {"holds": "yes"}
    )


def run_examples(knowledge: Knowledge, only: str | None = None) -> tuple[list[Outcome], Collector]:
    """Every example of every rule, and the faults found on the way: one of them hides no other."""
    faults = Collector()
    out: list[Outcome] = []
    todo = "see kb/README.md, Examples"
    for rule in knowledge.rules.values():
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
                out.append(run_example(knowledge, rule, example, number))
    return out, faults

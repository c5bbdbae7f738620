"""The published check values, each held against the program: reads `cases/*.yaml` and runs a check.

A case names its source and how far that goes (`kind`: a published example; a page that confirms
the value, or the rule alone; a colleague's word in a thread; computed from the tables; memory),
the editions it was checked for, what it `says` in our words, what of it is run only `in part`, and
where sources part (`doubt`). A case that today's rules do not cover stands under `not covered`.

A check is one of five things:

    job: NAME          a job of the file's `jobs:`, with `but:` laid over it (`circuit:` is the one
                       circuit of it); `comes out:` names things, and of each its facts and rules
    rule: NAME         one rule alone, as an example of it is run: `given:` and `answer:`, `holds:`
                       or `gives:`
    table: NAME        `gives:` COLUMN `by:` KEY of the rows in `rows:`, other keys in `where:`;
                       `times:` a factor, where the source has another unit
    value: NAME        a dated number of the knowledge, which `is:` so much
    cites: NAME        a rule whose section is `section:`, or begins so; that bears out no value

A number is exact. With "≈" before it, it is rounded to the places that stand there, as the source
printed it. A number of a table keeps the unit of its column.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import yaml
from job_run import knowledge

from whywire.engine.basics.errors import Place
from whywire.engine.basics.sentinels import NONE
from whywire.engine.basics.units import Range, in_unit, parse_quantity
from whywire.engine.checking.examples import ranged, run_example, show
from whywire.engine.language.knowledge import Knowledge
from whywire.engine.language.things import Thing
from whywire.engine.running.chain import World
from whywire.engine.running.job import read_job

FOLDER = Path(__file__).with_name("cases")
EDITIONS = ("2017", "2020", "2023", "2026")
ROUNDED = "≈"
NOT_IN_FORCE = "not in force"
KINDS = (
    "published example",
    "page confirms value",
    "page confirms rule",
    "colleague's word",
    "computed",
    "memory",
)


@dataclass(frozen=True)
class Check:
    """One thing that a case says, in one edition."""

    case: str
    number: int
    edition: str
    body: dict[str, Any]
    jobs: dict[str, Any]

    def __str__(self) -> str:
        return f"{self.case}.{self.number} in {self.edition}"


class _Texts(yaml.SafeLoader):
    """Reads every scalar as the text that stands there, as a job's reader does; `<<` merges."""

    yaml_implicit_resolvers = {"<": [("tag:yaml.org,2002:merge", re.compile("<<"))]}


@cache
def files() -> tuple[dict[str, Any], ...]:
    """Every file of cases: its `jobs` and its `cases`."""
    paths = sorted(FOLDER.glob("*.yaml"))
    return tuple(yaml.load(path.read_text("utf-8"), _Texts) for path in paths)


@cache
def cases() -> tuple[dict[str, Any], ...]:
    """Every case that is run, whole or in part."""
    return tuple(case for file in files() for case in file.get("cases", []))


@cache
def left_out() -> tuple[dict[str, Any], ...]:
    """Every case that today's rules do not cover."""
    return tuple(case for file in files() for case in file.get("not covered", []))


def checks() -> Iterator[Check]:
    """Every check of every case, once in each of its editions."""
    for file in files():
        for case in file.get("cases", []):
            for number, body in enumerate(case["checks"], 1):
                for edition in body.get("in", case["editions"]):
                    yield Check(case["case"], number, edition, body, file.get("jobs", {}))


def differences(check: Check) -> list[str]:
    """What a check expects and the program does not say."""
    kinds = {"job": _job, "rule": _rule, "table": _table, "value": _value, "cites": _cites}
    kind = next(kind for kind in kinds if kind in check.body)
    return [f"{check}: {line}" for line in kinds[kind](check, knowledge(check.edition))]


# ---- jobs


def laid_over(base: Any, change: Any) -> Any:
    """*base* with *change* over it: a mapping is laid into a mapping, or into each member of a
    list; an empty value takes the fact away; anything else takes the place of what was there.
    """
    if isinstance(base, list) and isinstance(change, dict):
        return [laid_over(member, change) for member in base]
    if not (isinstance(base, dict) and isinstance(change, dict)):
        return copy.deepcopy(change)
    out = copy.deepcopy(base)
    for key, value in change.items():
        if value == "":
            out.pop(key, None)
        else:
            out[key] = laid_over(out.get(key), value)
    return out


def bears_out(check: Check) -> Iterator[tuple[str, str]]:
    """(rule or table, name) of what a check speaks of: the rule or table it names, and the rule
    that gave, in this very job, a fact whose value it names. Not what it only passes through.
    """
    for sort in ("rule", "table"):
        if sort in check.body:
            yield sort, check.body[sort]
    if "job" not in check.body:
        return
    k = knowledge(check.edition)
    world = _run(check, k)
    for name, wants in check.body["comes out"].items():
        thing = _called(world, name)
        kind = thing[0].kind if thing is not None else ""
        for what in wants:
            if thing is None or what not in k.words.kinds[kind].words:
                yield "rule", what.removeprefix("rule ")
            elif (by := world.settle(kind, what, thing).rule) is not None:
                yield "rule", by


def _run(check: Check, k: Knowledge) -> World:
    """The job of a check, run."""
    body = laid_over(check.jobs[check.body["job"]], check.body.get("but", {}))
    if "circuit" in check.body:
        body = laid_over(body, {"circuits": {"it": check.body["circuit"]}})
    return World(k, read_job(body, k)).run()


def _called(world: World, name: str) -> Thing | None:
    """The thing that a check calls so: `it` is the one circuit, and its parts go by their own."""
    if name == "it":
        return world.things["circuits.it"]
    return world.things.get(name) or world.things.get(f"circuits.it.{name}".rstrip("."))


def _job(check: Check, k: Knowledge) -> Iterator[str]:
    world = _run(check, k)
    if not check.body["comes out"]:
        yield "nothing is expected"
    for name, wants in check.body["comes out"].items():
        thing = _called(world, name)
        if thing is None:
            yield f"nothing is called {name}"
            continue
        for what, want in wants.items():
            got = _of_a_thing(k, world, thing, what, want)
            if got is not None:
                yield f"{what} of {name}: {want} is expected, and it is {got}"


def _of_a_thing(k: Knowledge, world: World, thing: Thing, what: str, want: str) -> str | None:
    """None where *what* of *thing* is as wanted, else what it is."""
    kind = thing[0].kind
    word = k.words.kinds[kind].words.get(what)
    if word is not None:
        return _fact(thing[word.slot], word.unit, want)
    what = what.removeprefix("rule ")  # some rules are called as a fact is
    rule = k.rules.get(what)
    if rule is None:
        return None if want == NOT_IN_FORCE and what in _every_rule() else NOT_IN_FORCE
    if rule.about != kind:
        return f"a rule about {rule.about}"
    got = world.answer(rule, thing)
    return None if got == want else got


@cache
def _every_rule() -> frozenset[str]:
    """The rules of all editions: what is not in force in one is in force in another."""
    return frozenset(name for edition in EDITIONS for name in knowledge(edition).rules)


def _fact(value: Any, unit: str | None, want: str) -> str | None:
    """None where a value is as wanted, else what it is."""
    number = unit is not None and value is not None and value is not NONE
    if number and isinstance(value, Range):
        if want.startswith(ROUNDED):  # a root is known to some places only
            ends = (_number(end, unit, want) for end in (value.lo, value.hi))
            return next(filter(None, ends), None)
        return None if value == ranged(want, unit, Place()) else show(value, unit)
    if number and want not in ("unknown", "none"):
        return _number(value, unit, want)
    got = "yes" if value is True else "no" if value is False else show(value, unit)
    return None if got == want else got


def _number(value: Any, unit: str | None, want: str) -> str | None:
    """None where a number is as wanted: exactly, or rounded as it was printed."""
    target, written = parse_quantity(want.removeprefix(ROUNDED), unit or "count", Place())
    if not want.startswith(ROUNDED):
        return None if value == target else show(value, unit)
    printed = Decimal(want.removeprefix(ROUNDED).split()[0].replace(",", ""))
    there = rounded(Fraction(in_unit(value, written)), -int(printed.as_tuple().exponent))
    return None if there == printed else f"{there} {written}"


def rounded(number: Fraction, places: int) -> Decimal:
    """*number* to so many places, half up.

    >>> rounded(Fraction(1, 8), 2)
    Decimal('0.13')
    """
    scaled = (Decimal(number.numerator) / Decimal(number.denominator)).quantize(
        Decimal(1).scaleb(-places), ROUND_HALF_UP
    )
    return scaled


# ---- one rule, one table, one value


def _rule(check: Check, k: Knowledge) -> Iterator[str]:
    rule = k.rules.get(check.body["rule"])
    if rule is None:
        yield "the rule is not in force"
        return
    example = {
        key: check.body[key]
        for key in ("given", "answer", "holds", "gives", "sets aside")
        if key in check.body
    }
    if not example.keys() - {"given"}:
        yield "nothing is expected"
        return
    outcome = run_example(k, rule, example, check.number)
    if not outcome.ok:
        yield f"{outcome.wanted} is expected, and it is {outcome.got}"


def _table(check: Check, k: Knowledge) -> Iterator[str]:
    table, column, key = k.tables[check.body["table"]], check.body["gives"], check.body["by"]
    where = {
        name: table.typed(name, text, Place()) for name, text in check.body.get("where", {}).items()
    }
    if not check.body["rows"]:
        yield "nothing is expected"
    for text, want in check.body["rows"].items():
        found = table.find({**where, key: table.typed(key, text, Place())})
        if want == "off the table":
            if found:
                yield f"{text}: no row is expected, and there is one"
            continue
        if len(found) != 1 or not found[0]:
            yield f"{text}: {len(found)} rows"
            continue
        value, unit = found[0][column], table.unit(column)
        if "times" in check.body:  # to a unit that the tables do not have
            value, unit = Fraction(in_unit(value, unit)) * Fraction(check.body["times"]), "count"
        got = _fact(value, unit, want)
        if got is not None:
            yield f"{text}: {want} is expected, and it is {got}"


def _value(check: Check, k: Knowledge) -> Iterator[str]:
    value, kind = k.values[check.body["value"]]
    got = _fact(value, kind[2], check.body["is"])
    if got is not None:
        yield f"{check.body['is']} is expected, and it is {got}"


def _cites(check: Check, k: Knowledge) -> Iterator[str]:
    name, wanted = check.body["cites"], check.body["section"]
    if name not in k.rules:
        yield f"{name} is not in force"
        return
    sections = [section.strip() for section in k.section(name).split(",")]
    # 750 is Article 750 with all its sections, and 220.7 is not 220.70
    if not any(re.match(rf"{re.escape(wanted)}(?![0-9])", section) for section in sections):
        yield f"{wanted} is expected, and it is {k.section(name)}"

"""The page that needs no server and no signal: the engine in the browser, with laws it brings.

Runs in the Python of the page. `/laws` holds the knowledge of each law and `laws.json`, which says
what they are, of which day, and the cards of the survey.
"""

from __future__ import annotations

import datetime
import json
from functools import cache
from pathlib import Path
from typing import Any

from ....engine.front import (
    KIND,
    Cards,
    Fault,
    Faults,
    Inspection,
    Knowledge,
    Opened,
    Place,
    Survey,
    SurveyAnswer,
    all_kept,
    cards_of,
    knowledge_read,
    knowledge_with_code,
    mapping_of,
    opened_for_work_under,
    program_of,
    told_law,
)
from .. import pages, texts
from ..front import Front
from ..screen import KEPT, WAS, Fields, Last, head_in

LAWS = Path("/laws")
OLD = 180  # days after which a page says that its law is from an earlier day
FEET = "30 ft"
PAGES_WARMED = ("note", "fix", "inspector")  # run what the others do


@cache
def made() -> dict[str, Any]:
    """What the page was made of: `day`, `digest`, `laws` (name, place, edition, file), `cards`."""
    read: dict[str, Any] = json.loads((LAWS / "laws.json").read_text(encoding="utf-8"))
    return read


@cache
def cards() -> Cards:
    """The cards of the survey."""
    return cards_of(*made()["cards"])


@cache
def knowledge(file: str) -> Knowledge:
    """The knowledge of one law."""
    with all_kept():
        return knowledge_read((LAWS / file).read_bytes())


def law_of(head: dict[str, Any]) -> dict[str, str]:
    """The law of a job's head, among those that the page holds.

    Raises:
        Faults: it holds none for that place, edition or day.
    """
    laws: list[dict[str, str]] = made()["laws"]
    told = told_law(head)
    place, edition = told.get("place", ""), told.get("edition", "")
    if place:
        found = [law for law in laws if law["place"].lower() == place.strip().lower()]
    elif edition:
        found = [law for law in laws if not law["place"] and law["edition"] == edition]
    else:
        found = laws[:1]
    if not found:
        held = "; ".join(law["place"] or law["edition"] for law in laws)
        what = f"this page holds no law for {place or edition}"
        raise Faults([Fault("no-law", Place("the page"), what, f"it holds {held}")])
    day = str(head.get("permit date") or "")
    if day and not found[0]["from"] <= day < (found[0]["until"] or "9"):
        until = f", until {found[0]['until']}" if found[0]["until"] else ""
        what = f"this page holds no law for a permit of {day}"
        held = f"it holds the law of permits from {found[0]['from'] or 'any day'}{until}"
        raise Faults([Fault("no-law", Place("the page"), what, held)])
    return found[0]


def begun(head: dict[str, Any]) -> Survey:
    """A survey without answers, under the law of its head, or the first.

    Raises:
        Faults: the page holds no such law.
    """
    law = law_of(head)
    known = {key: law[key] for key in ("place", "edition") if law[key]}
    if law["place"]:
        del known["edition"]  # a town says its own
    title: dict[str, Any] = {key: head[key] for key in ("job", "permit date") if key in head}
    return Survey(cards(), knowledge(law["file"]), {**title, **known})


def opened(survey: Survey) -> Opened:
    """The job of a survey, opened for its work. Raises Faults where something is wrong in it."""
    law = law_of(survey.job)
    return opened_for_work_under(mapping_of(survey.body), knowledge(law["work"]))


@cache
def front() -> Front:
    """The page over the laws that it brings along, which remembers what it showed last."""
    laws = made()["laws"]
    places = [law["place"] for law in laws if law["place"]]
    editions = [law["edition"] for law in laws if not law["place"]]
    return Front(begun, opened, places, editions, made()["look"], age, remembers=True)


def age(today: str) -> str:
    """Of which day the law is; more plainly where that was long ago.

    Raises:
        ValueError: *today* is no date.
    """
    day = made()["day"]
    passed = datetime.date.fromisoformat(today) - datetime.date.fromisoformat(day)
    if passed.days > OLD:
        return f"This law is from {day}. Look for a newer page before you rely on it."
    return f"Law of {day}, {made()['digest']}"


def answer(sent: str) -> str:
    """What a form sent, as JSON with `fields` and `today`, to JSON with the inside of the page and
    the state that leads there again. What asks for nothing warms up what the first answer needs.
    """
    asked = json.loads(sent)
    if "fields" not in asked:
        first = next(iter(cards().kinds.values()))
        begun({}).with_answers([(KIND, first.say)]).card  # noqa: B018
        return "{}"
    fields: Fields = [(str(name), str(value)) for name, value in asked["fields"]]
    inside = front().inside(fields, str(asked["today"]))
    return json.dumps({"html": inside, "state": state(inside)})


def state(inside: str) -> list[list[str]]:
    """The fields that a page kept, of which it can be drawn again."""
    from html.parser import HTMLParser

    found: list[list[str]] = []

    class Hidden(HTMLParser):
        """Collects the hidden fields of the first form."""

        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            given = dict(attrs)
            if tag == "input" and given.get("type") == "hidden" and given.get("name") != WAS:
                found.append([given.get("name") or "", given.get("value") or ""])

    first = inside.partition("</form>")[0]
    Hidden().feed(first)
    begun_so = any(name == KEPT for name, _ in found)  # a job's file may say no title
    return found if begun_so or head_in([(name, value) for name, value in found]) else []


def inspected(bodies: str, file: str) -> str:
    """The jobs of a JSON list, inspected: what `whywire inspect --json` says of each."""
    return json.dumps([Inspection(body, knowledge(file)).as_dict() for body in json.loads(bodies)])


def wake() -> None:
    """Be as the first screen and the first card leave it, so that a page may wake from there."""
    import gc

    answer(json.dumps({"fields": [], "today": made()["day"]}))
    answer("{}")
    front().last = Last()
    gc.collect()


# ---- while the page is made ----------------------------------------------------------------------


def warm() -> None:
    """Run a survey of every kind with every answer, so that what it runs is emitted."""
    for law in made()["laws"]:
        for kind in cards().kinds.values():
            head = {"job": "x", "edition": law["edition"]}
            survey = Survey(cards(), knowledge(law["file"]), head, (SurveyAnswer(KIND, kind.say),))
            while (card := survey.card) is not None:
                said = card.choices[0] if card.choices else ""
                if card.entry and said not in card.alone:
                    unit = {"feet": FEET}
                    known = [] if card.card == "route" else cards().cards[card.card].entry
                    units = [next(iter(entry.units)) for entry in known]
                    numbers = [f"{6 if unit == 'AWG' else 60} {unit}" for unit in units]
                    said = f"{said} {', '.join(numbers) or unit['feet']}".strip()
                survey = survey.answer(said)
            found = Inspection(survey.body, survey.k)
            found.as_dict()
            for page in PAGES_WARMED:
                pages.lines_of(page, survey, pages.Desk(opened))
            for _, fact in survey.pieces:
                texts.why(survey, fact)


def keep() -> None:
    """Write each law back with the code that was emitted for it."""
    for file in (law[which] for law in made()["laws"] for which in ("file", "work")):
        known, path = knowledge(file), LAWS / file
        code = program_of(known).code
        fresh = code.fresh if code else {}
        path.write_bytes(knowledge_with_code(path.read_bytes(), fresh))


__all__ = ["age", "answer", "begun", "front", "inspected", "keep", "made", "wake", "warm"]

"""A class for its teacher, in words: points by topic, week by week, what stands in whose way with
what puts it right, what each needs next; and what one learner should be asked again.
"""

from __future__ import annotations

import datetime
from typing import Any

from ..engine.front import (
    Card,
    Classroom,
    Held,
    Maker,
    Model,
    Tally,
    class_needs,
    of_class,
    points_said,
)
from .layout import Line, wrap

# what stands where nothing was asked
NONE = "–"
GAP = 2
LONGEST_NAME = 18


def show_class(
    found: Classroom, maker: Maker, named: list[tuple[str, dict[str, Any]]], width: int
) -> list[Line]:
    """A class on the screen."""
    answers = sum(tally.asked for pupil in found.pupils for tally in pupil.topics.values())
    papers = len({result["quiz"] for _, result in named})
    head = f"{_many(len(found.pupils), 'learner')}, {_many(papers, 'paper')}, "
    out: list[Line] = [[(head + _many(answers, "answer"), "headline")], []]
    if not answers:
        return out[:1]
    out += [[("POINTS BY TOPIC, of how many answers", "label")]]
    by_topic = {pupil.name: pupil.topics for pupil in found.pupils}
    out += _table({topic: _said(topic) for topic in found.topics}, by_topic, width)
    if len(found.weeks) > 1:
        by_week = {pupil.name: pupil.weeks for pupil in found.pupils}
        out += [[], [("WEEK BY WEEK, from its Monday", "label")]]
        out += _table({monday: monday.isoformat() for monday in found.weeks}, by_week, width)
    out += _in_the_way(found, maker, width)
    out += [[], [("NEXT", "label")]]
    for pupil in found.pupils:
        out += _needs(pupil.name, *class_needs(pupil, found.topics, maker), maker, width)
    nobody = _nobody(maker, named)
    if nobody:
        out += [[], [("NOBODY GOT RIGHT", "label")]]
        for text in nobody:
            out += _under(text, width, 2, 4)
    return out


def _many(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def _said(topic: str) -> str:
    """A topic as a teacher says it."""
    return topic.replace("-", " ")


def _cell(tally: Tally | None) -> str:
    return NONE if tally is None else f"{points_said([tally.points])}/{tally.asked}"


def _table(columns: dict[Any, str], rows: dict[str, dict[Any, Tally]], width: int) -> list[Line]:
    """Names down, *columns* across: in as many parts, one below the other, as fit the width."""
    names = {name: name if len(name) <= LONGEST_NAME else name[:17] + "…" for name in rows}
    first = max(len("all"), *map(len, names.values())) + GAP
    whole: dict[Any, Tally] = {}
    for cells in rows.values():
        for key, tally in cells.items():
            total = whole.setdefault(key, Tally())
            total.points += tally.points
            total.asked += tally.asked
    shown = {key: max(len(head), len(_cell(whole.get(key)))) + GAP for key, head in columns.items()}
    out: list[Line] = []
    for part in _parts(shown, width - first - 2):
        if out:
            out.append([])
        heads = "".join(f"{columns[key]:>{shown[key]}}" for key in part)
        out.append([("  " + " " * first + heads, "source")])
        for name, cells in [*((names[n], rows[n]) for n in rows), ("all", whole)]:
            line = "".join(f"{_cell(cells.get(key)):>{shown[key]}}" for key in part)
            out.append([(f"  {name:<{first}}", "rule"), (line, "")])
    return out


def _parts(widths: dict[Any, int], room: int) -> list[list[Any]]:
    """The columns, in as many parts as they need."""
    out: list[list[Any]] = [[]]
    left = room
    for key, width in widths.items():
        if out[-1] and width > left:
            out.append([])
            left = room
        out[-1].append(key)
        left -= width
    return out


def _in_the_way(found: Classroom, maker: Maker, width: int) -> list[Line]:
    """Each belief that is held, by whom, why people hold it, what puts it right; and those gone."""
    out: list[Line] = []
    known = [(name, who) for name, who in found.in_the_way if name in maker.beliefs]
    # one wrong answer of one learner may be a slip: it is named, and no more
    once = [(name, who) for name, who in known if len(who) == 1 and who[0][1].times == 1]
    sure = [each for each in known if each not in once]
    if sure:
        out += [[], [("WHAT STANDS IN THE WAY", "label")]]
    for name, who in sure:
        belief = maker.beliefs[name]
        held = ", ".join(f"{pupil} ({_times(each)})" for pupil, each in who)
        out += _under(f"“{belief.says}” {held}", width, 2, 4)
        out += _under(f"Why people hold it: {belief.held_because}", width, 4, 6)
        out += _under(f"What puts it right: {belief.corrected}{_section(maker, name)}", width, 4, 6)
    if once:
        out += [[], [("SEEN ONCE, maybe a slip", "label")]]
    for name, who in once:
        out += _under(f"“{maker.beliefs[name].says}” {who[0][0]}", width, 2, 4)
    gone = [(name, who) for name, who in found.gone.items() if name in maker.beliefs]
    if gone:
        out += [[], [("GONE: answered rightly twice since", "label")]]
    for name, pupils in gone:
        out += _under(f"“{maker.beliefs[name].says}” {', '.join(pupils)}", width, 2, 4)
    return out


def _times(held: Held) -> str:
    """How many answers it showed in."""
    return "once" if held.times == 1 else f"{held.times} answers"


def _section(maker: Maker, name: str) -> str:
    rule = maker.k.rules.get(maker.beliefs[name].offends)
    section = rule.section(maker.k.edition) if rule else ""
    return f" [{section}]" if section else ""


def _needs(
    name: str, first: list[Held], weak: list[str], never: list[str], maker: Maker, width: int
) -> list[Line]:
    """What one learner needs next, a line each: what is to be understood, and what to be asked."""
    # what puts it right says little beside what it puts right
    beliefs = [maker.beliefs[held.belief] for held in first]
    said = [f"{_said(b.room)}: not “{b.says}” {b.corrected}" for b in beliefs]
    if weak:
        said.append(f"more of {_listed(weak)}")
    if never:
        said.append(f"not asked yet: {_listed(never)}")
    if not said:
        return _under(f"{name}: nothing stands out; go on to other topics.", width, 2, 4)
    return [[(f"  {name}", "rule")], *(line for text in said for line in _under(text, width, 4, 6))]


def _listed(topics: list[str]) -> str:
    return ", ".join(_said(topic) for topic in topics)


def _nobody(maker: Maker, named: list[tuple[str, dict[str, Any]]]) -> list[str]:
    """The rules of which at least two were asked and nobody gave the right answer."""
    got = of_class([result for _, result in named])
    asked: dict[str, int] = {}
    for _, result in named:
        for answer in result["answers"]:
            asked[answer["rule"]] = asked.get(answer["rule"], 0) + 1
    rules = [name for name in got["nobody right"] if name in maker.k.rules and asked[name] > 1]
    return [f"{maker.k.rules[name].said} ({asked[name]} answers)" for name in rules]


def _under(text: str, width: int, first: int, rest: int) -> list[Line]:
    """A text set in, its later lines further than its first."""
    lines = wrap(text, width - rest)
    return [[(" " * (rest if at else first) + line, "")] for at, line in enumerate(lines)]


def class_as_dict(
    found: Classroom, maker: Maker, named: list[tuple[str, dict[str, Any]]]
) -> dict[str, Any]:
    """A class as plain data."""
    learners = []
    for pupil in found.pupils:
        first, weak, never = class_needs(pupil, found.topics, maker)
        learners.append(
            {
                "name": pupil.name,
                "topics": {topic: _plain(tally) for topic, tally in sorted(pupil.topics.items())},
                "weeks": {
                    monday.isoformat(): _plain(tally)
                    for monday, tally in sorted(pupil.weeks.items())
                },
                "held": [
                    {
                        "belief": held.belief,
                        "times": held.times,
                        "last": held.last.isoformat(),
                        "right since": held.right_since,
                    }
                    for held in pupil.still_held
                ],
                "next": {
                    "beliefs": [held.belief for held in first],
                    "weak": weak,
                    "not asked": never,
                },
            }
        )
    in_the_way = {name: [pupil for pupil, _ in who] for name, who in found.in_the_way}
    questions = of_class([result for _, result in named])
    return {
        "learners": learners,
        "in the way": in_the_way,
        "gone": found.gone,
        "nobody right": questions["nobody right"],
        "hardly chosen": questions["hardly chosen"],
        "difficulty": questions["difficulty"],
    }


def _plain(tally: Tally) -> dict[str, Any]:
    return {"points": points_said([tally.points]), "asked": tally.asked}


# ---- what one learner should be asked again ------------------------------------------------------


def show_practice(
    known: dict[str, Card],
    today: list[str],
    on: datetime.date,
    models: dict[str, Model],
    maker: Maker,
    width: int,
) -> list[Line]:
    """What a learner should be asked again, by topic, each in the words of its rule."""
    if not today:
        ahead = sorted(card.due for card in known.values() if card.due)
        until = f" before {ahead[0].isoformat()}" if ahead else ""
        return [[(f"Nothing needs asking again{until}.", "passes")]]
    by_topic: dict[str, list[str]] = {}
    for name in today:
        topic = models[name].room if name in models else "no longer asked"
        by_topic.setdefault(topic, []).append(name)
    out: list[Line] = []
    for topic, names in by_topic.items():
        out.append([(f"Go back to {_said(topic)}:", "head")])
        for text in dict.fromkeys(_about(name, models, maker) for name in names):
            out += _under(f"- {text}", width, 2, 4)
    topics = " ".join(f"--room {topic}" for topic in by_topic if topic != "no longer asked")
    if topics:
        number = max(2, len(today))
        seed = on.toordinal() % 1000
        ask = f"Ask: whywire quiz make {topics} --number {number} --seed {seed}"
        out += [[], [(ask, "source")]]
    return out


def _about(name: str, models: dict[str, Model], maker: Maker) -> str:
    """What a question is about: what its rule says, or else its own name in words."""
    rule = maker.k.rules.get(models[name].rule) if name in models else None
    return rule.said if rule else name.replace("-", " ")


def practice_as_dict(known: dict[str, Card], today: list[str], on: datetime.date) -> dict[str, Any]:
    """What a learner should be asked again, as plain data."""
    return {
        "on": on.isoformat(),
        "ask again": today,
        "later": {
            name: card.due.isoformat()
            for name, card in sorted(known.items())
            if card.due and name not in today
        },
    }

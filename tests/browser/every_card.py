"""Every screen of every kind of job: surveyed in process, each card and what is said about it drawn
once.
"""

from __future__ import annotations

import html
import re
from collections.abc import Iterator

from whywire.cli.page.command import front
from whywire.cli.page.screen import page
from whywire.engine.front import read_cards

HEAD = [("job", "The yellow barn"), ("permit date", "2026-01-05"), ("edition", "2023")]
TODAY = "2026-01-05"
NUMBERS = {"feet": "30 ft"}
MOST = 40  # cards of one kind


def said_to(asked: str, choices: list[str]) -> list[tuple[str, str]]:
    """An answer to a card: its first choice, and 60 of what is typed."""
    cards = read_cards()
    known = cards.cards.get(asked)
    sent = [("choice", choices[0])] if choices else []
    if asked == "route":
        return [*sent, ("entry", "30 ft")]
    if known is not None and known.entry:
        units = [next(iter(entry.units)) for entry in known.entry]
        numbers = [f"{6 if unit == 'AWG' else 60} {unit}" for unit in units]
        if not (sent and choices[0] in known.alone):
            sent.append(("entry", ", ".join(numbers)))
    return sent


def screens(kind: str) -> Iterator[tuple[str, str]]:
    """The screens of a survey of *kind*: what each is called, and its whole HTML."""
    drawn = front()
    fields = [*HEAD, ("a", f"kind|{kind}")]
    for _ in range(MOST):
        inside = drawn.inside(fields, TODAY)
        asked = re.search(r'name="card" value="(\w+)"', inside)
        if asked is None:
            yield from ((name, whole(drawn.inside([*fields, ("do", name)], TODAY))) for name in END)
            whys = re.findall(r'name="do" value="(why [^"]*)"', inside)
            for why in whys[:2]:
                yield why, whole(drawn.inside([*fields, ("do", html.unescape(why))], TODAY))
            return
        yield asked[1], whole(inside)
        form = next(one for one in re.findall(r"<form.*?</form>", inside, re.S) if "<field" in one)
        choices = [html.unescape(one) for one in re.findall(r'name="choice" value="([^"]*)"', form)]
        send = [("do", "next"), ("card", asked[1]), *said_to(asked[1], choices)]
        after = drawn.inside([*fields, *send], TODAY)
        kept = re.search(r"<form.*?</form>", after, re.S)[0]
        answers = re.findall(r'name="a" value="([^"]*)"', kept)
        if len(answers) == len(fields) - len(HEAD):
            raise AssertionError(f"{kind}: {asked[1]} does not take {send}")
        fields = [*HEAD, *(("a", html.unescape(one)) for one in answers)]
    raise AssertionError(f"{kind} has no end")


END = ("note", "walk", "fix", "parts", "file")


def whole(inside: str) -> str:
    """A page with its look in it."""
    return page("whywire", inside, f"<style>{front().look}</style>")


def kinds() -> list[str]:
    """What each kind of job is called."""
    return [kind.say for kind in read_cards().kinds.values()]

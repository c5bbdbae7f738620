"""What nobody told, in three tiers: what decides, workmanship that is taken as usual, and what is
remote; and which questions would settle what cannot be told.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from ..language.expressions import as_word
from ..language.rules import JUDGING, Rule
from ..language.things import Members, Thing
from ..language.words import Test
from ..running.chain import World
from .findings import Missing, Need, word_of

DECIDES, WORKMANSHIP, REMOTE, ADVISED = "decides", "workmanship", "remote", "advice"


def is_so(world: World, thing: Thing, tests: Iterable[Test]) -> bool:
    """Whether each of *tests* is known to be so of *thing*."""
    return all(_is(world, thing, *test) for test in tests)


def _is(world: World, thing: Any, path: tuple[str, ...], wanted: bool, value: str) -> bool:
    for place, name in enumerate(path):
        if isinstance(thing, Members):
            # of a list that is told whole, and holds something, each has to be so
            if thing.open or not thing:
                return False
            return all(_is(world, one, path[place:], wanted, value) for one in thing)
        if not isinstance(thing, list) or not hasattr(thing[0], "kind"):
            return False
        word = world.k.words.kinds[thing[0].kind].words.get(name)
        thing = None if word is None else thing[word.slot]
    if thing is None:
        return False
    said = as_word(thing) or ("there" if isinstance(thing, list) else str(thing))
    return (said in [choice.strip() for choice in value.split("|")]) is wanted


class Deciding(Missing):
    """Gathers what is to be asked for a note: never what the design will produce, and what is asked
    of a person goes before what only a rule needs.
    """

    def ask(self, thing: Thing, fact: str, behind: list[tuple[str, str]]) -> None:
        """Ask for a fact, unless it is filled as soon as what is behind it is told."""
        if not (self.out and self.is_filled(thing, fact)):
            super().ask(thing, fact, behind)

    def is_filled(self, thing: Thing, fact: str) -> bool:
        """Whether a design fills a fact, or a default whose conditions are met already."""
        for giver in self.world.k.order.givers.get((thing[0].kind, fact), ()):
            if not self.may_give(giver, thing):
                continue
            sure = thing[self.world.k.slots[giver.id]] is True
            if giver.verb == "designs" or giver.verb == "assumes" and sure:
                return True
        return False


def questions_of(world: World, rule: Rule, thing: Thing, lists: bool = False) -> list[Need]:
    """What would settle a finding, the cheapest first; of a list that is not told whole, the rest
    of it, where nothing else would, or *lists* are asked for.
    """
    for lists in (True,) if lists else (False, True):
        missing = Deciding(world, lists)
        missing.in_rule(rule, thing)
        if missing.out:
            break
    return missing.cheapest_first()


def questions_of_exception(world: World, exception: str, thing: Thing) -> list[Need]:
    """What would settle an exception; where its own conditions are met, what might set it aside."""
    wanted = questions_of(world, world.k.rules[exception], thing)
    if not wanted:
        for against in world.k.order.exceptions.get(exception, ()):
            wanted += questions_of(world, against, thing)
    return wanted


def tier_of(world: World, need: Need) -> str:
    """The tier of a question: a remote one that something told makes likely decides."""
    word = word_of(world, need.of, need.fact)
    if word.tier == REMOTE and word.likely_where:
        if is_so(world, world.things[need.of], word.likely_where):
            return DECIDES
    return word.tier or DECIDES


def tier_of_open(world: World, rule: Rule, thing: Thing) -> tuple[str, tuple[Need, ...]]:
    """The tier of what cannot be told of a rule on a thing, with the questions that settle it."""
    if rule.verb == "should":
        return ADVISED, ()
    wanted = tuple(questions_of(world, rule, thing))
    tiers = {tier_of(world, need) for need in wanted}
    if wanted and DECIDES not in tiers:
        return (WORKMANSHIP if WORKMANSHIP in tiers else REMOTE), wanted
    # who does the work right makes its test pass, whatever else is not told
    if rule.verb in JUDGING and tests_workmanship(world, rule, thing):
        return WORKMANSHIP, wanted
    return DECIDES, tuple(need for need in wanted if tier_of(world, need) == DECIDES)


def tests_workmanship(world: World, rule: Rule, thing: Thing) -> bool:
    """Whether the test of a rule reads a fact of workmanship that nobody told."""
    for path in rule.tested():
        holder = path.holder(thing, None)
        if isinstance(holder, list) and hasattr(holder[0], "kind"):
            word = world.k.words.kinds[holder[0].kind].words[path.names[-1]]
            if word.tier == WORKMANSHIP and holder[word.slot] is None:
                return True
    return False


def is_small(world: World, rule: Rule, thing: Thing) -> bool:
    """Whether what cannot be told waits for workmanship or less, which is taken as usual: whoever
    mends does it right.
    """
    return tier_of_open(world, rule, thing)[0] != DECIDES

"""The reason of an answer, as a tree: what it rests on and nothing else. Of a size, why the next
smaller one fails; of what cannot be told, the fewest unknown facts that settle it.
"""

from __future__ import annotations

from ..language.rules import JUDGING, Rule
from ..language.things import Thing
from ..proving.graph import kind_of, parts_of, short, show, unit_shown
from ..reasons.elements import TOLD
from ..reasons.minimal import Outcome, Reason, Reasons
from ..reasons.moving import Bound, bounds_of, said_of
from ..reasons.sizes import reason_of_size, row_below
from ..reasons.tree import RULED, UNKNOWN, Entry, tree_of
from ..reasons.unknowns import Settling, fewest_that_settle
from ..running.chain import FAILS, PASSES, REFERS, TELL
from ..running.rerun import Rerun
from .answers import Answer
from .findings import Need, needs, needs_of_fact
from .sentences import Sentences

MOST_ASKED = 3  # questions that are shown of what cannot be told
MOST_MOVED = 2  # quantities of a reason of which is said how far they may move
IN_WORDS = {True: "yes", False: "no"}


class Reasoned(Sentences):
    """Gives the reasons of the answers about one run."""

    def of(self, answer: Answer) -> Entry | None:
        """What an answer rests on; None where there is no more to say than it says."""
        said = f"{answer.word} {answer.sentence}".strip()
        if kind_of(answer.root) == "pick":
            return self.of_size(answer.root, said)
        outcome = Outcome.at(answer.root)
        if outcome is None:
            return None
        if outcome.rule and self._untold(outcome):
            return self.of_unknown(outcome, said)
        if outcome.fact and Reasons(self.whatif).now(outcome) is None:
            return self.of_unknown_fact(outcome, said)
        return self._tree(Reasons(self.whatif).of(outcome), said)

    def _untold(self, outcome: Outcome) -> bool:
        """Whether an outcome cannot be told."""
        thing = self.world.things.get(outcome.thing)
        if thing is None:
            return False
        answer = self.world.answer(self.knowledge.rules[outcome.rule], thing)
        return answer in (TELL, REFERS)

    def _tree(self, reason: Reason | None, said: str) -> Entry | None:
        if reason is None or reason.facts == {(reason.outcome.thing, reason.outcome.fact)}:
            return None
        tree = tree_of(self.world, reason, said)
        if reason.outcome.rule:
            self._say_bounds(tree, reason)
        return tree

    # ---- a size
    def of_size(self, root: str, said: str) -> Entry | None:
        """Why a size is what it is: what the next smaller row fails."""
        name, holder = parts_of(root)
        pick, thing = self.knowledge.rules[name], self.world.things[holder]
        reasons = Reasons(self.whatif)
        reason, row = reason_of_size(reasons, pick, thing), row_below(reasons, pick, thing)
        if reason is None or row is None:
            return None
        size = show(row[0].row, pick.tries_table.unit(pick.tried.name))
        rule = self.knowledge.rules[reason.outcome.rule]
        return self._tree(reason, f"{said} {size} fails: {self._said_on(rule, row)}")

    def _said_on(self, rule: Rule, thing: Thing) -> str:
        return self.sentence(rule, thing, FAILS) if rule.verb in JUDGING else rule.said

    # ---- how far it may move
    def _say_bounds(self, tree: Entry, reason: Reason) -> None:
        """Say of the quantities that somebody told how far they may move with nothing turned."""
        told = [one for one in reason.elements if one.sort == TOLD]
        shown = {entry.name: entry for entry in tree.all()}
        moved = 0
        for element in told:
            entry = shown.get(f"fact:{element.thing}/{element.fact}")
            if entry is None or moved == MOST_MOVED:
                continue
            bounds = bounds_of(self.whatif, reason, element)
            if bounds:
                moved += 1
                so = reason.answer if reason.answer in (FAILS, PASSES) else "the same"
                entry.bound = f"{so} {' and '.join(self._bound(bound) for bound in bounds)}"

    def _bound(self, bound: Bound) -> str:
        thing = self.world.things[bound.element.thing]
        word = self.knowledge.words.kinds[thing[0].kind].words[bound.element.fact]
        unit = unit_shown(thing, word.name, word.unit)
        return said_of(bound, lambda value: show(value, unit))

    # ---- what cannot be told
    def of_unknown(self, outcome: Outcome, said: str) -> Entry | None:
        """The fewest unknown facts that settle what cannot be told."""
        rule, thing = self.knowledge.rules[outcome.rule], self.world.things[outcome.thing]
        wanted = needs(self.world, rule, thing)
        if not wanted:
            return None
        candidates = [(need.of, need.fact) for need in wanted]
        settling = fewest_that_settle(self.whatif, outcome, candidates)
        said = f"{self._word_of(said)} {rule.said}" if rule.verb in JUDGING else said
        top = Entry(f"rule:{rule.id}@{thing[0].id}", RULED, said, self.source(rule, thing))
        facts = settling.facts if settling else ()
        asked = [need for need in wanted if not facts or (need.of, need.fact) in facts]
        top.under = [self._question(need) for need in asked[:MOST_ASKED]]
        top.under.append(self._settles(top.name, settling, len(wanted)))
        return top

    def of_unknown_fact(self, outcome: Outcome, said: str) -> Entry | None:
        """What a fact waits for that is not known."""
        wanted = needs_of_fact(self.world, self.world.things[outcome.thing], outcome.fact)
        top = Entry(outcome.root, UNKNOWN, said)
        top.under = [self._question(need) for need in wanted[:MOST_ASKED]]
        return top if top.under else None

    def _question(self, need: Need) -> Entry:
        """A question that a person can answer by looking, and where to look."""
        on = self.world.things[need.of]
        entry = Entry(f"fact:{need.of}/{need.fact}?ask", UNKNOWN, need.ask, "nobody said")
        look = Entry(f"{entry.name}?look", UNKNOWN, f"Look: {need.look}", short(on))
        entry.under = [look] if need.look else []
        return entry

    @staticmethod
    def _word_of(said: str) -> str:
        """The word that an answer begins with: `CAN'T TELL.`"""
        return f"{said.partition('.')[0]}."

    def _settles(self, name: str, settling: Settling | None, wanted: int) -> Entry:
        """Whether the answers settle it, and how."""
        text = f"No three of the {wanted} unknown facts settle it."
        if settling is not None:
            told = sorted(set(settling.answers.values()) - {TELL, REFERS})
            together = "Together they" if len(settling.facts) > 1 else "That"
            sure = "settles" if len(settling.facts) == 1 else "settle"
            sure = sure if settling.always else "may settle"
            text = f"{together} {sure} it: {self._by_answer(settling) or ' or '.join(told)}."
            if TELL in settling.answers.values():
                text += " Some answers leave more to ask."
        return Entry(f"{name}?settles", RULED, text)

    def _by_answer(self, settling: Settling) -> str:
        """`yes passes, no fails`, of one fact with few answers."""
        if len(settling.facts) != 1 or len(settling.answers) > 3 or not settling.proven:
            return ""
        said = [
            f"{IN_WORDS.get(value, value)} {answer}"
            for (value,), answer in settling.answers.items()
        ]
        return ", ".join(said)


def reason_of(rerun: Rerun, answer: Answer) -> Entry | None:
    """What an answer rests on and nothing else; None where it is no conclusion."""
    return Reasoned(rerun.world, rerun).of(answer)


__all__ = ["Reasoned", "reason_of"]

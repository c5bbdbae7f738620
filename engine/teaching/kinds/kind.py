"""A kind of question: what it asks about, what is concluded of it, how its options are made.

Each kind is a class of its own in a file of its own; here is what they share.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...answering.verdicts import Verdict, answer_on, text_of
from ...basics.errors import Fault, suggest
from ...basics.reading import Mapping, place_of
from ...language.knowledge import Knowledge
from ...language.rules import Rule
from ...language.things import NodeId, Type
from ...language.words import as_list
from ...proving.graph import Explainer
from ...running.chain import FAILS, TELL, WARNS, World
from ..asked import Model, kind_of, place
from ..questions import Draw, Instance, Made, Option, Order, Value

if TYPE_CHECKING:
    from ..instances import Maker


class Kind:
    """One kind of question. What stands here is so of most kinds; a kind says what is so of it."""

    name = ""  # the key of a model that says what is asked
    under_another_law = False  # whether the same may be asked of another law
    picks_several = False  # whether all that apply are picked
    is_ordered = False  # whether what is asked is an order
    needs_another_law = False  # whether nothing is asked where there is one law alone
    believed = True  # whether beliefs make its wrong options, under the law at hand
    asks_what_is_open = False  # whether what the stem leaves open is the question itself
    takes_a_value = False  # whether an answer may be written that is none of the options
    stem_says: tuple[str, ...] = ()  # what its stem may say that is not drawn

    # ---- what it asks about

    def lines(self, model: Model) -> list[str]:
        """What is asked about, a line each: `RULE on THING`."""
        return [str(one) for one in as_list(model.d[self.name])]

    def picks_several_of(self, model: Model) -> bool:
        """Whether all that apply are picked of *model*."""
        return self.picks_several

    def rules_asked(self, model: Model) -> list[str]:
        """Of its lines those on a rule, whose failing is no slip of the job."""
        return self.lines(model)

    def rules_named(self, model: Model) -> list:
        """The rules that its options are, as written."""
        return []

    def about(self, model: Model) -> str:
        """The rule that it is about, where it is about one."""
        return ""

    def starts(self, model: Model, knowledge: Knowledge) -> list[NodeId]:
        """The nodes of the order that it asks about.

        Raises:
            Fault: it asks about what is not there.
        """
        return rule_nodes(as_list(model.d[self.name]), model, knowledge)

    # ---- what is concluded

    def concluded(
        self, model: Model, world: World, lawful: bool, off_counts: bool
    ) -> tuple[Value, str]:
        """What a run says to it, and the unit of that; None where it cannot be told.

        Raises:
            NotImplementedError: it is asked otherwise (`concludes`).
        """
        raise NotImplementedError(self.name)

    def concludes(self, maker: Maker, model: Model, body: Mapping, *names: str) -> Value:
        """What the rules say to it under beliefs; None where it cannot be told."""
        world = maker.under(maker.settled(model, body), model, body, *names)
        return None if world is None else self.concluded(model, world, not names, False)[0]

    def chooses(self, maker: Maker, question: Instance, *names: str) -> list[Value]:
        """The values any of which somebody who holds beliefs would choose; [] where nothing
        fits.
        """
        got = self.concludes(maker, question.model, question.body, *names)
        return [] if got is None else [got]

    def law_of(self, maker: Maker) -> Maker:
        """Who makes it under the law that it asks about."""
        return maker

    def derive(self, explainer: Explainer, model: Model) -> None:
        """Have all that it asks about derived."""
        world = explainer.w
        for said in self.lines(model):
            rule, thing = place(said, model, " on ")
            if rule in world.k.rules and thing in world.things:
                explainer.rule(world.k.rules[rule], world.things[thing])

    # ---- its options

    def make(self, maker: Maker, draw: Draw) -> Made | None:
        """The key and the options of one draw; None where no question comes of it.

        Raises:
            NotImplementedError: a kind that makes none is none.
        """
        raise NotImplementedError(self.name)

    def makes_right(self, question: Instance, got: Value, option: Option) -> bool:
        """Whether an option is right where *got* is what the rules conclude."""
        return question.same(got, option.value)


# ---- what kinds share ----------------------------------------------------------------------------


def rule_nodes(said: list, m: Model, k: Knowledge) -> list[NodeId]:
    """The nodes of the rules that lines of a model name, those of other editions left out.

    Raises:
        Fault: one is no rule.
    """
    out: list[NodeId] = []
    for one in said:
        rule, _ = place(str(one), m, " on ")
        rule = k.called(rule)
        # a rule of another edition is no slip: the model is just not asked in this one
        if rule not in k.rules and rule not in k.absent:
            at = place_of(one, m.at)
            raise Fault("no-such-rule", at, f'"{rule}" is no rule', suggest(rule, k.rules))
        if rule in k.rules:
            out.append(("rule", rule, ""))
    return out


def fact_node(said: str, model: Model, knowledge: Knowledge) -> NodeId:
    """The node of `FACT of THING`.

    Raises:
        Fault: it names no thing.
    """
    fact, thing = place(said, model, " of ")
    return "cell", kind_of(thing, knowledge), fact, ""


def order_of(knowledge: Knowledge, model: Model, value: Value) -> Order | None:
    """How the values of what is asked are ordered: as numbers, or as the rows of their table."""
    if "asks" in model.d and isinstance(value, str):
        fact, thing = place(str(model.d["asks"]), model, " of ")
        type_ = knowledge.words.kinds[kind_of(thing, knowledge)].words[fact].type
        if type_[0] == "row":
            return rows_of(knowledge, type_).get
    return None if isinstance(value, (str, bool, Verdict)) else (lambda x: x)


def rows_of(knowledge: Knowledge, type_: Type) -> dict[str, int]:
    """The values of a word that is a row of a table, in their order."""
    table = knowledge.tables[type_[1]]
    return table.order("size" if "size" in table.keys else next(iter(table.keys)))


def key_option(value: Value, unit: str = "", text: str = "") -> Option:
    """The right answer, as an option."""
    return Option(text or text_of(value, unit), value, True)


def believed_option(
    maker: Maker, name: str, value: Value, unit: str = "", text: str = ""
) -> Option:
    """What a belief makes of a question, as an option."""
    return Option(text or text_of(value, unit), value, False, name, maker.beliefs[name].says)


def answers_in(lines: list[str], world: World) -> dict[str, str | None]:
    """The answer of each rule that a model lists, by `RULE on THING`."""
    return {said: answer_on(world, said) for said in lines}


def rule_of(said: str) -> str:
    """The rule of `RULE on THING`."""
    return said.partition(" on ")[0].strip()


def failing_in(lines: list[str], world: World) -> tuple[str, ...] | None:
    """The rules that fail or warn, of those that a model lists; None while one cannot tell."""
    # one that cannot tell leaves open whether it fails: then nothing is asked of any of them
    answers = answers_in(lines, world)
    if any(answer is None or answer == TELL for answer in answers.values()):
        return None
    failing = [rule_of(said) for said, answer in answers.items() if answer in (FAILS, WARNS)]
    return tuple(dict.fromkeys(failing))


def label_of(model: Model, r: Rule) -> str:
    """What a rule is called among options: as the model says, since the rule's own sentence may
    hold the number that is asked for.
    """
    return str((model.d.get("options") or {}).get(r.id) or r.d.get("warns") or r.said)

"""The order as straight-line Python, a function for each node of it, for the case where everything
needed is plainly known.

A function runs its node on all things it is about. A rule leaves its answer in a thing's cells or
raises: a range, an inexact quotient, a row off the table, most of what is unknown raise, and the
general evaluator (chain.World.fire) then answers that instance. Of the unknown this module knows
what needs no arithmetic: a fact, a choice or a plain comparison that is not known, and what lies
beyond a `none`.

Why not closures: nine tenths of all instances are tried sizes, and a tree walked over exact
fractions takes forty times as long. Why the loop inside: a call for each rule and thing takes as
long as the rule.
"""

from __future__ import annotations

import bisect
import decimal
from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from decimal import Decimal
from fractions import Fraction
from types import CodeType
from typing import TYPE_CHECKING, Any, NoReturn, TypeAlias

from ..basics.sentinels import NONE
from ..language import expressions as ex
from ..language.rules import FILLING, JUDGING, Fill, Rule
from ..language.things import NodeId, Thing
from .outcomes import ADVICE, FAILS, OFF, PASSES, TELL

if TYPE_CHECKING:  # those that have emitted code run, and import this module
    from ..language.knowledge import Knowledge
    from .chain import World

Constants: TypeAlias = dict[str, Any]  # name in the emitted code -> value
Code: TypeAlias = tuple[CodeType, Constants]  # functions, and the constants they name
Run: TypeAlias = Callable[["list[Thing]", "World"], None]  # a node on all things it is about


class Bail(Exception):
    """What is needed here is not plainly known."""


# What the emitted code runs into where something is not plainly known. It takes no care, so that
# the plain case costs nothing: it adds a None (TypeError), looks up what no row has (KeyError, or
# IndexError past the last), takes the smallest of no members (ValueError).
BAIL = (
    Bail,
    TypeError,
    KeyError,
    IndexError,
    ValueError,
    StopIteration,
    AttributeError,
    decimal.DecimalException,
)
_NUMBERS = (Decimal, Fraction)


# ---- what the emitted code calls -----------------------------------------------------------------


def _bail() -> NoReturn:
    raise Bail


def _equal(a: object, b: object) -> bool:
    # a range equals nothing in Python, and yet it may be the same number
    if a.__class__ in _NUMBERS and b.__class__ in _NUMBERS:
        return a == b
    raise Bail


def _down(points: Sequence[Any], value: Any) -> int:
    """The place of the last of *points* at or below *value*."""
    place = bisect.bisect_right(points, value) - 1
    if place < 0:
        # -1 would be the last row of all
        raise Bail
    return place


def _answers(
    values: Iterable[Any], words: set[Any], met: bool, nothing: object
) -> dict[Any, object]:
    """The answer to a test for each of *values*, for what is unknown, and for what lies beyond a
    none.
    """
    return {value: (value in words) is met for value in values} | {None: None, NONE: nothing}


class Emitter:
    """Emits nodes of the order of one knowledge base."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.knowledge, self.variables, self.depth = knowledge, 0, 0
        # value, or what a look-up is made of -> (name, value) of the constant
        self.named: dict[Hashable, tuple[str, Any]] = {}
        self.constants: Constants = {}  # of one module
        # what a fact of few values answers -> the name of that, in one module
        self.answers: dict[str, str] = {}

    def constant(self, value: Any, key: Hashable = None) -> str:
        """The name of a constant: one for each value, or for each *key* of what cannot be
        compared.
        """
        if key is None:
            # 1 and 1.0 are equal, and are not written alike in an answer
            key = value.__class__, str(value)
        name, value = self.named.setdefault(key, (f"K{len(self.named)}", value))
        self.constants[name] = value
        return name

    def variable(self) -> str:
        """A name that no other value of this function has."""
        self.variables += 1
        return f"q{self.variables}"

    def inner(self) -> str:
        """The name of the member of a list, within those already entered."""
        self.depth += 1
        return f"m{self.depth}"

    def outer(self) -> None:
        """The list is left again."""
        self.depth -= 1

    # ---- what a fact is worth, for the tests of pieces whose facts may be unknown
    def reach(self, slots: Sequence[int]) -> str:
        """What stands at the end of a path: None where a link is unknown, NONE beyond a none."""
        text = f"x[{slots[0]}]"
        for slot in slots[1:]:
            link = self.variable()
            text = f"({link}[{slot}] if ({link} := {text}).__class__ is list else {link})"
        return text

    def answered(self, fact: ex.Path, words: str, met: bool, nothing: str) -> str:
        """What a fact of few values answers, which is *met* where it is one of *words*: looked up,
        since that is one step.

        What cannot be looked up raises. Of a fact that may be any word there is no such list, and
        "" is returned.
        """
        sort, *of = fact.t
        if sort not in ("flag", "choice"):
            return ""
        values = "(True, False)" if sort == "flag" else self.constant(of[0])
        said = f"answers({values}, {words}, {met}, {nothing})"
        return f"{self.answers.setdefault(said, f'A{len(self.answers)}')}[{self.reach(fact.slots)}]"

    def known(self, path: ex.Path, classes: str, then: Callable[[str], str], nothing: str) -> str:
        """What *then* says of the value of *path* where that is of *classes*."""
        value = self.variable()
        return (
            f"({then(value)} if ({value} := {self.reach(path.slots)}).__class__ {classes} else None"
            f" if {value} is None else {nothing} if {value} is NONE else bail())"
        )

    # ---- nodes of the order, each for all things `xs` of a world `w`
    def node(self, node: NodeId) -> list[str]:
        """The lines that run a rule or settle a fact."""
        if node[0] == "rule":
            return self.rule(self.knowledge.rules[node[1]])
        _, kind, fact, plane = node
        return self.cell(kind, fact, plane)

    def rule(self, rule: Rule) -> list[str]:
        """A rule on each thing."""
        knowledge = self.knowledge
        slot, hold = knowledge.slots[rule.id], knowledge.holds.get(rule.id)
        # what may raise comes last
        conditions = sorted(
            ((condition, condition.emit_open(self, ex.NOT_MET)) for condition in rule.when),
            key=lambda each: not each[1],
        )
        doubt = any(text for _, text in conditions)
        # it does not apply, unless every condition lets it go on
        out = [self._does_not_apply(rule)] if conditions else []
        out += ["h = True"] if doubt or hold is not None else []
        for condition, text in conditions:
            if text:
                out += [f"v = {text}", "if v is None: h = None", "elif not v: continue"]
            else:
                out.append(f"if not {condition.emit(self, 'x', 'm')}: continue")
        if rule.verb in JUDGING:
            out += self._judge(rule, f"x[{slot}]", doubt, hold is not None)
        else:
            for fill in rule.fills:
                out += self._fill(fill, f"x[{knowledge.results[rule.id, fill.word.name]}]")
            out.append(f"x[{slot}] = {'h' if doubt else 'True'}")
        if hold is not None:
            for exception in knowledge.order.exceptions.get(rule.id, ()):
                out += [
                    f"v = x[{knowledge.holds[exception.id]}]",
                    "if v is True: h = False",
                    "elif v is None and h: h = None",
                ]
            out.append(f"x[{hold}] = h")
        return [
            "for x in xs:",
            " try:",
            *(f"  {line}" for line in out),
            " except BAIL:",
            f"  w.in_general({rule.id!r}, x)",
        ]

    def _does_not_apply(self, rule: Rule) -> str:
        """What a rule leaves on a thing that it says nothing of."""
        knowledge = self.knowledge
        hold = knowledge.holds.get(rule.id)
        out = f"x[{knowledge.slots[rule.id]}] = {'OFF' if rule.verb in JUDGING else 'False'}"
        out += f"; x[{hold}] = False" if hold is not None else ""
        return out + "".join(
            f"; x[{knowledge.results[rule.id, fill.word.name]}] = None" for fill in rule.fills
        )

    def _judge(self, rule: Rule, cell: str, doubt: bool, holds: bool) -> list[str]:
        """The answer of a judging rule; one that *holds* sets others aside, which it does only
        where it is met.
        """
        # a rule that judges has a line by which it does, or it would not be in force
        assert rule.test is not None
        bad = "ADVICE" if rule.verb == "should" else "FAILS"
        met = "False" if rule.verb == "must not" else "True"
        text = rule.test.emit_open(self, "NONE")
        if text:
            return [
                f"v = {text}",
                (
                    f"{cell} = PASSES if v is {met} else OFF if v is NONE else TELL if v is"
                    f" None{' or h is None' if doubt else ''} else {bad}"
                ),
                *(["if v is None: h = None", f"elif v is not {met}: h = False"] if holds else []),
            ]
        plainly = rule.test.emit(self, "x", "m")
        good = plainly if met == "True" else f"not {plainly}"
        return [
            f"{cell} = PASSES if {good} else {'TELL if h is None else ' if doubt else ''}{bad}",
            *([f"if {cell} is not PASSES: h = False"] if holds else []),
        ]

    def _fill(self, fill: Fill, cell: str) -> list[str]:
        fact = fill.expr.own_fact
        if fact:
            return [f"v = {self.reach(fact.slots)}", "if v is NONE: bail()", f"{cell} = v"]
        is_flag = fill.word.type[0] == "flag"
        text = is_flag and fill.expr.emit_open(self, "None")
        if text:
            return [f"{cell} = {text}"]
        if is_flag or isinstance(fill.expr, (ex.Path, ex.Local, ex.Extreme)):
            # these may be worth what stands in a cell, which arithmetic never is
            value = fill.expr.emit(self, "x", "m")
            return [f"v = {value}", "if v is None or v is NONE: bail()", f"{cell} = v"]
        return [f"{cell} = {fill.expr.emit(self, 'x', 'm')}"]

    def cell(self, kind: str, fact: str, plane: str) -> list[str]:
        """A fact of each thing, after its givers: as chain.World.settle, which is asked where
        values are at odds.
        """
        word = self.knowledge.words.kinds[kind].words[fact]
        givers = self.knowledge.order.givers[kind, fact]
        told = f"x[{word.slot}]"
        if plane and any(giver.verb in ("tries", "designs") for giver in givers):
            # no row makes it otherwise than it is, but for what is told of one row alone
            comes_with_the_row = word.comes_with == self.knowledge.rules[plane].tried.name
            value = f"x[0].told.get({fact!r})" if comes_with_the_row else f"x[0].slot[{word.slot}]"
            return ["for x in xs:", f" {told} = {value}"]
        again = f"w.settle_again({kind!r}, {fact!r}, x)"
        live = [giver for giver in givers if giver.verb == "gives"]
        rest = [giver for giver in givers if giver.verb != "gives"]
        fallbacks = self._fallbacks(rest, fact, told)
        if not live:
            return ["for x in xs:", f" if {told} is None:", *(f"  {line}" for line in fallbacks)]
        # one giver alone cannot be at odds with another, nor wait for one: less to look at
        if len(live) == 1 and not rest:
            return self._one_giver(live[0], fact, told, again)
        out = ["given = may_be = None", "open_ = False"]
        for giver in live:
            out += self._one_of_givers(giver, fact, again)
        out += [
            f"if {told} is not None:",
            f" if given is not None and given != {told}: {again}",
            "elif given is not None:",
            f" if not open_ and (may_be is None or may_be == given): {told} = given",
        ]
        if fallbacks:
            out += ["elif not open_ and may_be is None:", *(f" {line}" for line in fallbacks)]
        return ["for x in xs:", *(f" {line}" for line in out)]

    def _not_set_aside(self, giver: Rule) -> str:
        """That no exception sets *giver* aside for sure."""
        return "".join(
            f" and x[{self.knowledge.holds[exception.id]}] is not True"
            for exception in self.knowledge.order.exceptions.get(giver.id, ())
        )

    def _fallbacks(self, rules: list[Rule], fact: str, told: str) -> list[str]:
        """What fills a fact that nothing told or gave: the first of *rules* that does."""
        out: list[str] = []
        for rule in sorted(rules, key=lambda each: FILLING.index(each.verb)):
            applies = f"x[{self.knowledge.slots[rule.id]}] is True{self._not_set_aside(rule)}"
            out.append(
                f"{'elif' if out else 'if'} {applies} and (v :="
                f" x[{self.knowledge.results[rule.id, fact]}]) is not None: {told} = v"
            )
        return out

    def _one_giver(self, giver: Rule, fact: str, told: str, again: str) -> list[str]:
        """A fact that one rule gives, and nothing else fills."""
        knowledge = self.knowledge
        if giver.exception_to:
            holds = f"x[{knowledge.holds[giver.id]}] is True"
        else:
            holds = f"x[{knowledge.slots[giver.id]}] is True{self._not_set_aside(giver)}"
        value = f"(v := x[{knowledge.results[giver.id, fact]}])"
        return [
            "for x in xs:",
            f" if {holds} and {value} is not None and v != {told}:",
            f"  if {told} is None: {told} = v",
            f"  else: {again}",
        ]

    def _one_of_givers(self, giver: Rule, fact: str, again: str) -> list[str]:
        """What one of several rules that give a fact adds to what is given, or may be."""
        knowledge = self.knowledge
        value = f"x[{knowledge.results[giver.id, fact]}]"
        if giver.exception_to:
            out = [f"if x[{knowledge.holds[giver.id]}] is True:"]
        else:
            applies = f"v is True{self._not_set_aside(giver)}"
            out = [f"v = x[{knowledge.slots[giver.id]}]", f"if {applies}:"]
        out += [
            f" v = {value}",
            " if v is None: open_ = True",
            " elif given is None: given = v",
            " elif given != v:",
            f"  {again}",
            "  continue",
        ]
        if not giver.exception_to:
            out += [
                f"elif v is None{self._not_set_aside(giver)}:",
                f" v = {value}",
                " if v is None: open_ = True",
                " elif may_be is None: may_be = v",
                " elif may_be != v: open_ = True",
            ]
        return out

    def module(self, nodes: Iterable[NodeId]) -> tuple[str, Constants]:
        """The source of a function `n0(xs, w)`, `n1(xs, w)` ... for each of *nodes*, and the
        constants they name.
        """
        self.constants, self.answers = {}, {}
        lines: list[str] = []
        for number, node in enumerate(nodes):
            self.variables = 0
            lines += [f"def n{number}(xs, w):", *(f" {line}" for line in self.node(node))]
        answers = [f"{name} = {said}" for said, name in self.answers.items()]
        return "\n".join([*answers, *lines, ""]), self.constants


class Stretch:
    """Nodes of the order that stand together and are about one kind of things, in one plane: run
    one after another.

    A block is walked thing by thing along the feeders: its `nodes` are stretches themselves.
    """

    __slots__ = ("kind", "plane", "nodes", "way", "rules", "runs", "origin", "piece")

    # nodes of the order; of a block, stretches
    nodes: list[Any]

    def __init__(self, kind: str, plane: str, nodes: list[Any], way: str = "") -> None:
        self.kind, self.plane, self.nodes, self.way = kind, plane, nodes, way
        self.rules = 0 if way else sum(node[0] == "rule" for node in nodes)
        self.runs: list[Run] | None = None  # the functions of the nodes, once they are wanted
        # the same stretch of the knowledge that this one's differs from by a few rules
        self.origin: Stretch | None = None
        self.piece = 0  # where their code is kept, if it is

    def __getstate__(self) -> dict[str, Any]:
        # functions are not kept: their code is, in a piece of its own
        return {name: getattr(self, name) for name in self.__slots__} | {
            "runs": None,
            "origin": None,
        }

    def __setstate__(self, kept: dict[str, Any]) -> None:
        for name, value in kept.items():
            setattr(self, name, value)

    def afresh(self) -> Stretch:
        """The same nodes, whose functions are still to be made."""
        nodes = [stretch.afresh() for stretch in self.nodes] if self.way else self.nodes
        other = Stretch(self.kind, self.plane, nodes, self.way)
        other.origin = self
        return other

    def __repr__(self) -> str:
        return f"<{self.way or self.nodes[0]} ... of {self.kind}>"


def stretches(knowledge: Knowledge, sequence: Iterable[NodeId]) -> list[Stretch]:
    """*sequence* cut into stretches, without the nodes that need no work."""
    # each stretch with its nodes as a list that grows: how many are rules is counted at the end
    out: list[tuple[str, str, list[Any], str]] = []
    last: tuple[str, str] | None = None  # of which kind and plane the stretch is that may grow
    for node in sequence:
        if node[0] == "block":
            last = None
            out.append(("", "", stretches(knowledge, node[2]), node[1]))
        elif node[0] in ("try", "pick"):
            last = None
            out.append((knowledge.rules[node[1]].about, "", [node], ""))
        elif not knowledge.idle(node):
            about = _kind_and_plane(knowledge, node)
            if about != last:
                last = about
                out.append((*about, [], ""))
            out[-1][2].append(node)
    return [Stretch(*each) for each in out]


def _kind_and_plane(knowledge: Knowledge, node: NodeId) -> tuple[str, str]:
    """On what things a rule or a fact is worked."""
    if node[0] == "rule":
        return knowledge.rules[node[1]].about, node[2]
    return node[1], node[3]


def environment() -> dict[str, Any]:
    """The names the emitted code uses."""
    return {
        "BAIL": BAIL,
        "bail": _bail,
        "answers": _answers,
        "equal": _equal,
        "left": bisect.bisect_left,
        "down": _down,
        "D": Decimal,
        "ZERO": Decimal(0),
        "NONE": NONE,
        "NUMBERS": _NUMBERS,
        "WORDS": (str,),
        "OFF": OFF,
        "PASSES": PASSES,
        "FAILS": FAILS,
        "TELL": TELL,
        "ADVICE": ADVICE,
    }


class Emitted:
    """The emitted functions of one knowledge base, a stretch of them made when one is first
    wanted.
    """

    def __init__(
        self,
        knowledge: Knowledge,
        kept: list[Stretch] | None = None,
        read: Callable[[int], Code | None] | None = None,
        base: Emitted | None = None,
        changed: frozenset[str] = frozenset(),
    ) -> None:
        self.emitter, self.environment = Emitter(knowledge), environment()
        if kept is None:
            kept = stretches(knowledge, knowledge.order.sequence)
        self.stretches = kept
        # piece -> the code of a stretch and its constants, made here and not kept yet
        self.fresh: dict[int, Code] = {}
        self._read = read  # how code that is kept is read; it gives None where none is
        # what this one differs from by a few rules, and those
        self._base, self._changed = base, changed
        self._made: dict[NodeId, Run] = {}
        self._home: dict[NodeId, Stretch] = {}

    def parts(self, of: list[Stretch] | None = None) -> Iterator[Stretch]:
        """Every stretch of rules and facts, those of blocks too."""
        for stretch in self.stretches if of is None else of:
            if stretch.way:
                yield from self.parts(stretch.nodes)
            elif stretch.nodes[0][0] in ("rule", "cell"):
                yield stretch

    def run(self, node: NodeId) -> Run:
        """The function that runs a node on things of its kind."""
        if node not in self._made:
            if not self._home:
                self._home = {each: stretch for stretch in self.parts() for each in stretch.nodes}
            self.runs(self._home[node])
        return self._made[node]

    def runs(self, stretch: Stretch) -> list[Run]:
        """The functions of the nodes of a stretch."""
        if stretch.runs is None:
            self._made.update(self._shared(stretch) if self._base else self._own(stretch))
            stretch.runs = [self._made[node] for node in stretch.nodes]
        return stretch.runs

    def _own(self, stretch: Stretch) -> dict[NodeId, Run]:
        # a rule does the same on a row that is tried
        tried = {
            node: self.run(("rule", node[1], ""))
            for node in stretch.nodes
            if node[0] == "rule" and stretch.plane
        }
        nodes = [node for node in stretch.nodes if node not in tried]
        if not nodes:
            return tried
        said = self._read(stretch.piece) if self._read else None
        if said is None:
            said = self.code(nodes)
            if stretch.piece:
                self.fresh[stretch.piece] = said
        return tried | self._functions(nodes, said)

    def _shared(self, stretch: Stretch) -> dict[NodeId, Run]:
        """Those of the base, made there if they were not, but for the rules that are others
        here.
        """
        # what shares the code of another was made from its stretches (`but`)
        assert self._base is not None and stretch.origin is not None
        made = dict(zip(stretch.nodes, self._base.runs(stretch.origin)))
        others = [node for node in stretch.nodes if node[1] in self._changed]
        return made | self._functions(others, self.code(others)) if others else made

    def _functions(self, nodes: list[NodeId], said: Code) -> dict[NodeId, Run]:
        code, constants = said
        names = {**self.environment, **constants}
        # our own text, made from checked rules; a pack holds no code
        exec(code, names)
        return {node: names[f"n{number}"] for number, node in enumerate(nodes)}

    def code(self, nodes: list[NodeId]) -> Code:
        """The compiled functions of *nodes*, and the constants they name."""
        source, constants = self.emitter.module(nodes)
        return compile(source, f"<{nodes[0][1]} ...>", "exec"), constants

    def but(self, knowledge: Knowledge, changed: set[str]) -> Emitted:
        """The functions of *knowledge*, which is as this one's but for the rules *changed*: those
        of all others are shared.
        """
        return Emitted(
            knowledge,
            [stretch.afresh() for stretch in self.stretches],
            base=self,
            changed=frozenset(changed),
        )

"""The tasks of a job in an order that follows from what each needs, makes, sees, hides and undoes:
every arrow with its reason, what is mere habit marked so, a circle refused.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from ..basics.errors import Fault, Faults, Place
from ..basics.sentinels import NONE, NOTHING
from ..basics.units import Range, in_unit
from ..language.lowering import (
    FOLLOWS,
    HABIT,
    HIDES,
    HOLD,
    MAKES,
    NEEDS,
    OUTSIDE,
    SEES,
    UNDOES,
    WORK,
    fact_of,
)
from ..language.rules import Rule
from ..language.things import Thing, members
from ..language.words import as_list
from ..proving.leaves import unknown_under, unknown_under_fact
from ..proving.wording import short
from ..running.chain import OFF, TELL
from .opening import Opened
from .takeoff import Ask, see_not_negative

STAGES = "stages-of-work"
# of several reasons for one arrow the first is said first
WEIGHT = (UNDOES, SEES, NEEDS, FOLLOWS, HIDES, HABIT)


@dataclass(frozen=True)
class Reason:
    """Why one task comes before another."""

    state: str
    why: str  # needs, follows, habit, hides or undoes
    before: str  # what the first one does, in its own words
    after: str

    @property
    def habit(self) -> bool:
        return self.why == HABIT

    @property
    def said(self) -> str:
        """The reason in a sentence."""
        sentences = {
            NEEDS: f'{self.after} needs "{self.state}", which {self.before} makes',
            FOLLOWS: f'{self.after} comes after "{self.state}", which {self.before} makes',
            HABIT: f'by habit {self.after} comes after "{self.state}", which {self.before} makes',
            SEES: f'{self.after} hides "{self.state}", which {self.before} has to see',
            HIDES: f'{self.after} hides "{self.state}", which {self.before} makes',
            UNDOES: f'{self.after} undoes "{self.state}", which {self.before} needs',
        }
        return sentences[self.why]


def in_short(reasons: list[Reason], number: int) -> str:
    """Why a task comes after the one with that *number*, in a sentence: states of one kind
    together.
    """
    sentences = {
        UNDOES: ("it undoes", "needs"),
        SEES: ("it hides", "has to see"),
        NEEDS: ("it needs", "makes"),
        FOLLOWS: ("it comes after", "makes"),
        HIDES: ("it hides", "makes"),
        HABIT: ("by habit it comes after", "makes"),
    }
    states: dict[str, dict[str, None]] = {}
    for reason in reasons:
        states.setdefault(reason.why, {})[f'"{reason.state}"'] = None
    said = [
        f"{sentences[why][0]} {', '.join(each)}, which {number} {sentences[why][1]}"
        for why, each in states.items()
    ]
    text = "; and ".join(said)
    return f"{text[:1].upper()}{text[1:]}."


@dataclass
class Task:
    """One task on one thing of the job."""

    rule: str
    of: str
    called: str
    says: str  # what is done
    reason: str  # what the rule says
    source: str
    by: str
    hold: bool
    stage: str
    moment: str
    minutes: Fraction | None
    least: bool
    perhaps: bool  # whether nobody can tell if it is to be done at all
    waits: tuple[Ask, ...]
    asks: str
    states: dict[str, tuple[str, ...]]
    members: frozenset[str] = frozenset()  # what shares the thing, as the circuits of a pipe
    number: int = 0
    # the arrows that are needed, each with its reasons, the weightiest first
    after: list[tuple[Task, list[Reason]]] = field(default_factory=list)

    @property
    def name(self) -> tuple[str, str]:
        return self.rule, self.of

    @property
    def outside(self) -> bool:
        """Whether others do it, so that none of its minutes are the crew's."""
        return self.by in OUTSIDE

    @property
    def in_words(self) -> str:
        """What is done, and at what: `pull the cable (kiln)`."""
        return self.says if self.of == "job" else f"{self.says} ({self.called})"


@dataclass
class Order:
    """The tasks of a job one after another."""

    tasks: list[Task]
    gaps: list[str]  # what a task needs and nothing makes
    visits: int
    arrows: int  # reasons found, of which those that are needed stand at the tasks

    @property
    def minutes(self) -> Fraction:
        """The crew's minutes, those that are known."""
        return sum((t.minutes or Fraction() for t in self.tasks if not t.outside), Fraction())

    @property
    def least(self) -> bool:
        """Whether it may take longer."""
        return any(t.least for t in self.tasks if not t.outside)


class Ordering:
    """Reads the tasks of a job off its settled run, and puts them in order."""

    def __init__(self, job: Opened) -> None:
        self.world, self.knowledge = job.world, job.knowledge
        self.stages = [str(row["stage"]) for row in self.knowledge.tables[STAGES].rows]
        self._near: dict[str, frozenset[str]] = {}
        self.keys: dict[tuple[str, str], tuple[int, str, int, int]] = {}

    def order(self) -> Order:
        """The tasks in order. Raises Faults for a circle."""
        import networkx as nx

        tasks = list(self._tasks())
        graph = nx.DiGraph()
        graph.add_nodes_from(task.name for task in tasks)
        by_name = {task.name: task for task in tasks}
        arrows = 0
        for before, after, reason in self._arrows(tasks):
            arrows += 1
            known = graph.get_edge_data(before.name, after.name)
            reasons = [*(known["reasons"] if known else []), reason]
            reasons.sort(key=lambda each: WEIGHT.index(each.why))
            graph.add_edge(before.name, after.name, reasons=reasons)
        if not nx.is_directed_acyclic_graph(graph):
            raise Faults([_circle(graph, nx.find_cycle(graph), by_name)])
        sequence = list(nx.lexicographical_topological_sort(graph, key=self.keys.__getitem__))
        for number, name in enumerate(sequence, 1):
            by_name[name].number = number
        for one, other in nx.transitive_reduction(graph).edges:
            by_name[other].after.append((by_name[one], graph[one][other]["reasons"]))
        for task in tasks:
            task.after.sort(key=lambda pair: pair[0].number)
        ordered = [by_name[name] for name in sequence]
        return Order(ordered, self._gaps(tasks), _visits(ordered, graph), arrows)

    # ---- tasks
    def _tasks(self) -> Iterator[Task]:
        """Every task on every thing, with where it stands in the order where nothing else says."""
        rules = [rule for rule in self.knowledge.rules.values() if WORK in rule.d or HOLD in rule.d]
        for rule in rules:
            for at, thing in enumerate(self.world.by_kind.get(rule.about, ())):
                answer = self.world.answer(rule, thing)
                if answer == OFF:
                    continue
                task = self._task(rule, thing, answer == TELL)
                stage = (
                    self.stages.index(task.stage) if task.stage in self.stages else len(self.stages)
                )
                self.keys[task.name] = stage, rule.at[0], rule.at[1] or 0, at
                yield task

    def _task(self, rule: Rule, thing: Thing, perhaps: bool) -> Task:
        fact = fact_of(rule.id, "minutes")
        word = self.knowledge.words.kinds[rule.about].words[fact]
        value = thing[word.slot]
        minutes: Fraction | None = None
        least = perhaps
        if isinstance(value, Range):
            minutes, least = (None if value.lo is None else in_unit(value.lo, word.unit)), True
        elif value is None or value is NONE or value is NOTHING:
            least = True
        else:
            minutes = in_unit(value, word.unit)
        see_not_negative(rule, thing, minutes)
        waits = (
            unknown_under(self.world, rule, thing)
            if perhaps
            else unknown_under_fact(self.world, thing, fact)
            if least
            else []
        )
        d = rule.d
        return Task(
            rule=rule.id,
            of=thing[0].id,
            called=short(thing),
            says=str(d.get(WORK) or d.get(HOLD)),
            reason=rule.said,
            source=self.knowledge.section(rule.id, thing) or "",
            by=str(d["by"]),
            hold=HOLD in d,
            stage=str(d.get("stage", "")),
            moment=str(d.get("moment", "")),
            minutes=minutes if not perhaps else None,
            least=least,
            perhaps=perhaps,
            waits=tuple(self._ask(key) for key in waits),
            asks=str(d.get("asks", "")),
            states={
                key: tuple(str(state) for state in as_list(d.get(key)))
                for key in (NEEDS, FOLLOWS, HABIT, MAKES, SEES, HIDES, UNDOES)
            },
            members=self._members(thing),
        )

    def _members(self, thing: Thing) -> frozenset[str]:
        """The things of the lists that are no part of a thing: what runs in a pipe."""
        out: set[str] = set()
        for word in self.knowledge.words.kinds[thing[0].kind].words.values():
            if word.type[0] == "many" and not word.part:
                out |= _linked(thing[word.slot])
        return frozenset(out)

    def _ask(self, key: tuple[str, str]) -> Ask:
        thing = self.world.things[key[0]]
        word = self.knowledge.words.kinds[thing[0].kind].words[key[1]]
        return Ask(short(thing), key[1], str(word.ask), key[0])

    # ---- arrows
    def _arrows(self, tasks: list[Task]) -> Iterator[tuple[Task, Task, Reason]]:
        """(what comes first, what comes after, why)."""
        makers = _by_state(tasks, MAKES)
        seers, needers = _by_state(tasks, SEES), _by_state(tasks, NEEDS)
        for task in tasks:
            for key in (NEEDS, FOLLOWS, HABIT):
                yield from self._before(task, key, makers, key)
            made = {state: each for state, each in seers.items() if state in makers}
            yield from self._before(task, HIDES, made, SEES)
            yield from self._before(task, HIDES, makers, HIDES)
            yield from self._before(task, UNDOES, needers, UNDOES)

    def _before(
        self, task: Task, key: str, others: dict[str, list[Task]], why: str
    ) -> Iterator[tuple[Task, Task, Reason]]:
        for state in task.states[key]:
            for other in others.get(state, ()):
                if other is not task and self._related(other.of, task.of):
                    yield other, task, Reason(state, why, other.in_words, task.in_words)

    def _gaps(self, tasks: list[Task]) -> list[str]:
        """What a task needs and no task of the job makes."""
        makers = _by_state(tasks, MAKES)
        out = []
        for task in tasks:
            # of a task that is perhaps not done at all nothing is missing yet
            for state in () if task.perhaps else task.states[NEEDS]:
                mine = (t for t in makers.get(state, ()) if self._related(t.of, task.of))
                if next(mine, None) is None:
                    out.append(f'{task.in_words} needs "{state}", and nothing in this job makes it')
        return out

    def _related(self, one: str, other: str) -> bool:
        """Whether what is so of one thing is of concern at another: they are the same, parts of one
        another, or one is linked to the other. The job is everybody's concern.
        """
        if one == other or "job" in (one, other):
            return True
        return other in self._around(one) or one in self._around(other)

    def _around(self, of: str) -> frozenset[str]:
        """What a thing is part of, with its parts, and what those wholes are linked to."""
        if of not in self._near:
            thing: Any = self.world.things[of]
            whole: set[str] = set()
            while thing is not None and thing[0].id != "job":
                whole.add(thing[0].id)
                for word in self.knowledge.words.kinds[thing[0].kind].words.values():
                    if (
                        word.type[0] == "ref"
                        and not word.part
                        or word.type[0] == "many"
                        and not word.part
                    ):
                        whole |= _linked(thing[word.slot])
                thing = thing[0].whole
            self._near[of] = frozenset(whole)
        return self._near[of]


def _linked(value: Any) -> set[str]:
    """The things that a link leads to."""
    if not isinstance(value, list) or not value:
        return set()
    if type(value) is list:
        return {value[0].id}
    return {thing[0].id for thing in members(value)}


def _by_state(tasks: list[Task], key: str) -> dict[str, list[Task]]:
    """State -> the tasks that have it at a key."""
    out: dict[str, list[Task]] = {}
    for task in tasks:
        for state in task.states[key]:
            out.setdefault(state, []).append(task)
    return out


def _circle(graph: Any, edges: list[Any], by_name: dict[tuple[str, str], Task]) -> Fault:
    """A circle as a chain of sentences."""
    reasons = [graph[one][other]["reasons"][0] for one, other, *_ in edges]
    chain = [reason.said for reason in reasons]
    habit = [reason for reason in reasons if reason.habit]
    rules = ", ".join(dict.fromkeys(by_name[one].rule for one, *_ in edges))
    todo = (
        f'let go of the habit "{habit[0].state}"'
        if habit
        else f"one of these says too much: {rules}"
    )
    return Fault(
        "circle-of-tasks", Place("order"), "the tasks go in a circle: " + "; and ".join(chain), todo
    )


def _visits(ordered: list[Task], graph: Any) -> int:
    """How often the crew comes: once, and again after each hold of others that it waits for."""
    held: dict[tuple[str, str], int] = {}
    most = 0
    for task in ordered:
        before = max((held[name] for name in graph.predecessors(task.name)), default=0)
        held[task.name] = before + (task.hold and task.outside)
        if not task.outside:
            most = max(most, before)
    return most + 1


def ordered(job: Opened) -> Order:
    """The tasks of a job in order. Raises Faults where they go in a circle."""
    return Ordering(job).order()

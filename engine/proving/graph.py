"""The derivation of a run as one graph: facts, rules, the steps of their lines, table cells, picks
and absences.

Nothing is logged while the rules run. Every cell is settled when they are done, so the graph of any
answer is read off the settled cells by walking the lines again; a step's value here is what it was
worth there. Edges lead from a conclusion to what it rests on, in the order of the line.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any, NamedTuple, NewType, TypeAlias, cast

from ..basics.errors import Place
from ..basics.notebook import shown
from ..basics.reading import place_of
from ..basics.sentinels import NONE, NOTHING
from ..basics.units import in_unit, number_text
from ..language import expressions as ex
from ..language.rules import JUDGING, Rule
from ..language.tables import Table
from ..language.things import Thing, members
from ..language.words import Word
from ..running.chain import OFF, PASSES, SET_ASIDE, TELL, World
from .wording import (
    PUT_TOGETHER,
    Member,
    Value,
    amount,
    exact_text,
    measured,
    plain,
    say,
    scale,
    short,
    show,
    unit_as_written,
    unit_of,
    unit_shown,
)

# What a row that was tried comes to.
ROW_SAID = {True: "passes every test", False: "fails", None: "cannot tell"}


# ---- what a node is called

# The id of a node, as `fact:kiln.breaker/rating`; made and taken apart by the functions below. The
# proof check makes its own: a node that either of the two calls otherwise is found by the other.
Name = NewType("Name", str)


def fact_name(thing: str, fact: str) -> Name:
    """The node of a fact of a thing.

    >>> fact_name("circuits.kiln.breaker", "rating")
    'fact:circuits.kiln.breaker/rating'
    """
    return Name(f"fact:{thing}/{fact}")


def rule_name(rule: str, thing: str) -> Name:
    """The node of a rule's answer on a thing.

    >>> rule_name("next-size-up", "circuits.kiln.breaker")
    'rule:next-size-up@circuits.kiln.breaker'
    """
    return Name(f"rule:{rule}@{thing}")


def step_name(rule: str, thing: str, path: str, member: str = "") -> Name:
    """The node of a piece of a rule's line, on a member of a list where it is looked at.

    >>> step_name("box-fill", "box", "must.0", "box.cables.1")
    'step:box-fill@box#must.0[box.cables.1]'
    """
    return Name(f"step:{rule}@{thing}#{path}" + (f"[{member}]" if member else ""))


def value_name(value: str) -> Name:
    """The node of a dated value.

    >>> value_name("demand factor")
    'value:demand factor'
    """
    return Name(f"value:{value}")


def cell_name(table: str, keys: str, column: str) -> Name:
    """The node of a cell of a table.

    >>> cell_name("EGC", "60 A", "copper")
    'cell:EGC[60 A]/copper'
    """
    return Name(f"cell:{table}[{keys}]/{column}")


def pick_name(pick: str, thing: str) -> Name:
    """The node of a pick for a thing.

    >>> pick_name("least-size", "circuits.kiln.conductors")
    'pick:least-size@circuits.kiln.conductors'
    """
    return Name(f"pick:{pick}@{thing}")


def row_name(pick: str, tried: str) -> Name:
    """The node of a row that a pick tries.

    >>> row_name("least-size", "circuits.kiln.conductors@6 AWG")
    'row:circuits.kiln.conductors@6 AWG?least-size'
    """
    return Name(f"row:{tried}?{pick}")


def kind_of(name: str) -> str:
    """The kind of node that a name is of.

    >>> kind_of("fact:circuits.kiln.breaker/rating")
    'fact'
    """
    return name.partition(":")[0]


def parts_of(name: str) -> tuple[str, str]:
    """The two parts of the name of a fact (thing, fact), of a rule's answer (rule, thing), a pick
    (pick, thing) or a row that is tried (row, pick).

    >>> parts_of("fact:circuits.kiln.breaker/rating")
    ('circuits.kiln.breaker', 'rating')
    >>> parts_of("row:circuits.kiln.conductors@6 AWG?least-size")
    ('circuits.kiln.conductors@6 AWG', 'least-size')
    """
    kind, _, rest = name.partition(":")
    first, _, second = rest.partition({"fact": "/", "row": "?"}.get(kind, "@"))
    return first, second


def whole_of(thing: str) -> str:
    """The thing that a row which is tried stands for; any other thing is its own.

    >>> whole_of("circuits.kiln.conductors@6 AWG"), whole_of("circuits.kiln")
    ('circuits.kiln.conductors', 'circuits.kiln')
    """
    return thing.partition("@")[0]


# ---- the graph

Data: TypeAlias = dict[str, Any]  # what a node says beside its text and value, as JSON has it
Said: TypeAlias = tuple[str, str, str]  # the text, value and unit of a node
UNSAID: Said = ("", "", "")


class Node:
    """One node. *kind* is fact, rule, step, cell, value, pick or row; *value* is exact text, *text*
    is for people.
    """

    def __init__(self, id: str, kind: str, text: str, value: str, unit: str, data: Data) -> None:
        self.id, self.kind, self.text = id, kind, text
        self.value, self.unit, self.data = value, unit, data

    def as_dict(self) -> dict[str, Any]:
        """The node as JSON has it."""
        said = {
            "id": self.id,
            "kind": self.kind,
            "text": self.text,
            "value": self.value,
            "unit": self.unit,
        }
        return said | ({"data": self.data} if self.data else {})


class Graph:
    """Nodes by id, edges (from, to, role), and the node the question was about."""

    def __init__(self) -> None:
        self.root = ""
        self.nodes: dict[str, Node] = {}
        self.edges: list[tuple[str, str, str]] = []

    def out(self, node: str) -> list[tuple[str, str]]:
        """(to, role) of every edge from *node*, in order.

        >>> graph = Graph()
        >>> graph.edges.append(("a", "b", "when"))
        >>> graph.out("a"), graph.out("b")
        ([('b', 'when')], [])
        """
        return [(b, r) for a, b, r in self.edges if a == node]

    def _repr_html_(self) -> str:
        said = f"{len(self.nodes)} nodes, {len(self.edges)} edges, from {self.root}"
        nodes = self.nodes.values()
        return shown(said, [(n.kind, n.text, f"{n.value} {n.unit}".strip()) for n in nodes])

    def as_dict(self) -> dict[str, Any]:
        """The graph as JSON has it.

        >>> Graph().as_dict()
        {'root': '', 'nodes': [], 'edges': []}
        """
        return {
            "root": self.root,
            "nodes": [n.as_dict() for n in self.nodes.values()],
            "edges": [{"from": a, "to": b, "role": r} for a, b, r in self.edges],
        }


class Spot(NamedTuple):
    """Where a piece of a line is read: of which rule, on which thing, beside which member of a
    list, and at which place of the rule's lines.
    """

    rule: Rule
    thing: Thing
    member: Member
    path: str

    def at(self, path: str) -> Spot:
        """The same, at another place of the lines."""
        return Spot(self.rule, self.thing, self.member, path)

    def below(self, piece: str | int) -> Spot:
        """The same, one piece further down the line."""
        return Spot(self.rule, self.thing, self.member, f"{self.path}.{piece}")

    def beside(self, member: Member, piece: str) -> Spot:
        """One piece further down, with a member of a list looked at."""
        return Spot(self.rule, self.thing, member, f"{self.path}.{piece}")

    def value(self, expression: ex.Expr) -> Value:
        """What a piece of the line is worth here."""
        return expression.ev(self.thing, self.member)

    @property
    def name(self) -> Name:
        """What the node of a step here is called."""
        member = self.member[0].id if isinstance(self.member, list) else ""
        return step_name(self.rule.id, self.thing[0].id, self.path, member)


class Explainer:
    """Builds graphs from a finished run: with all that is said and worth there, or bare, where only
    what rests on what is asked.
    """

    def __init__(self, world: World, bare: bool = False) -> None:
        self.w, self.k, self.g, self.bare = world, world.k, Graph(), bare
        self._seen: set[tuple[str, str, str]] = set()

    def _node(self, node: Name, kind: str, data: Data, said: Callable[[], Said]) -> None:
        """Add a node; *said* gives its text, its value and its unit."""
        self.g.nodes[node] = Node(node, kind, *(UNSAID if self.bare else said()), data)

    def edge(self, above: str, below: str, role: str) -> None:
        """Add an edge, once."""
        edge = (above, below, role)
        if edge not in self._seen:
            self._seen.add(edge)
            self.g.edges.append(edge)

    # ---- facts
    def fact(self, thing: Thing, name: str) -> Name:
        """The node of a fact, with all it rests on."""
        meta = thing[0]
        word = self.k.words.kinds[meta.kind].words[name]
        of_another = bool(meta.plane) and not self.of_its_own(thing, name)
        # what trying a row does not change
        if of_another and not self._comes_with_tried(thing, word):
            return self.fact(meta.slot, name)
        node = fact_name(meta.id, name)
        if node in self.g.nodes:
            return node
        origin, by = self.origin(thing, name)
        value = thing[word.slot]
        self._node(
            node,
            "fact",
            self._fact_data(thing, word, origin, by),
            lambda: (
                f"{name} of {short(thing)}: {show(value, unit_shown(thing, name, word.unit))}",
                exact_text(value, word.unit),
                word.unit or "",
            ),
        )
        if not of_another and origin != "tried":
            self._hang_givers(node, thing, name, origin, by)
        return node

    def _fact_data(self, thing: Thing, word: Word, origin: str, by: str | None) -> Data:
        """What the node of a fact says beside its value: where it came from, as it was written."""
        meta, name = thing[0], word.name
        data: Data = {"of": meta.id, "is": name, "origin": origin}
        if by:
            data["by"] = by
        written = meta.written.get(name)
        if written and origin in ("told", "assumed", "disputed"):
            data["as written"], data["at"] = written[0], str(written[2])
        if name in meta.looked:
            data["looked"] = "and found no marking"
        if word.type[0] == "many":
            value = thing[word.slot]
            data["open"] = not isinstance(value, list) or getattr(value, "open", False)
        return data

    def _hang_givers(
        self, node: Name, thing: Thing, name: str, origin: str, by: str | None
    ) -> None:
        """Hang every rule that may give a fact under its node, and say which one does."""
        settled_as_told = by is None and origin in ("told", "assumed", "designed")
        for giver in self._givers(thing, name):
            if giver.verb == "tries":
                if by == giver.id:
                    self.edge(node, self.pick(giver, thing), "picked by")
                continue
            # only what is given can dispute what is told, also where nobody said it
            if settled_as_told and giver.verb != "gives":
                continue
            gives = giver.id == by
            if origin == "disputed" and self.w.answer(giver, thing) == "holds":
                gives = True
            self.edge(node, self.rule(giver, thing), GIVEN if gives else "not given by")

    def _givers(self, thing: Thing, name: str) -> Iterable[Rule]:
        """The rules that may give a fact."""
        givers: Iterable[Rule] = self.k.order.givers.get((thing[0].kind, name), ())
        return givers

    def _comes_with_tried(self, thing: Thing, word: Word) -> bool:
        """Does a fact come with what the row is tried for?"""
        return bool(word.comes_with == self._tried_fact(thing))

    def _tried_fact(self, thing: Thing) -> str:
        return str(self.k.rules[thing[0].plane].tried.name)

    def origin(self, thing: Thing, name: str) -> tuple[str, str | None]:
        """Where a fact came from, and the rule that gave it; what a job tells and nobody said is
        assumed by no rule.
        """
        meta = thing[0]
        known = self.w.job.origin(whole_of(meta.id), name)
        told = known if name in meta.told else "unknown"
        if meta.plane and not self.of_its_own(thing, name):
            if not self._comes_with_tried(thing, self.k.words.kinds[meta.kind].words[name]):
                return self.origin(meta.slot, name)
            return told, None
        if not self._givers(thing, name):
            return told, None
        _, origin, by = self.w.settle(meta.kind, name, thing)
        return (known if origin == "told" else origin), by

    def of_its_own(self, thing: Thing, name: str) -> bool:
        """Is this a fact that a tried row settles for itself?"""
        if name == self._tried_fact(thing):
            return True
        verbs = {giver.verb for giver in self._givers(thing, name)}
        return bool(verbs) and not verbs & {"tries", "designs"}

    # ---- rules
    def rule(self, rule: Rule, thing: Thing) -> Name:
        """The node of a rule's answer on a thing."""
        node = rule_name(rule.id, thing[0].id)
        if node in self.g.nodes:
            return node
        answer = self.w.answer(rule, thing)
        data = self._rule_data(rule, thing, answer)
        self._node(node, "rule", data, lambda: (f"{rule.said}", answer, ""))
        spot = Spot(rule, thing, None, "")
        for i, condition in enumerate(rule.when):
            self.operand(node, condition, spot.at(f"when.{i}"), "when")
        if rule.cited_by is not None:
            self.operand(node, rule.cited_by, spot.at("code by"), "cited by")
        if self.applies(rule, thing):
            if rule.test is not None:
                self.operand(node, rule.test, spot.at(rule.verb), rule.verb)
            for fill in rule.fills:
                fact = fill.word.name
                if not self.bare:
                    given = thing[self.k.results[rule.id, fact]]
                    data.setdefault("gives", {})[fact] = exact_text(given, fill.word.unit)
                line = spot.at(f"{rule.verb}.{fact}")
                self.operand(node, fill.expr, line, f"{rule.verb} {fact}")
        for exception in self.k.order.exceptions.get(rule.id, ()):
            self.edge(node, self.rule(exception, thing), "exception")
        return node

    def _rule_data(self, rule: Rule, thing: Thing, answer: str) -> Data:
        """What the node of a rule says beside its answer."""
        data = {
            "rule": rule.id,
            "on": thing[0].id,
            "answer": answer,
            "verb": rule.verb,
            "layer": rule.layer,
            "section": rule.section(self.k.edition, thing) or "",
            "edition": self.k.edition,
            "at": str(rule.at),
        }
        if rule.verb in JUDGING:
            data["own answer"] = thing[self.k.slots[rule.id]] or OFF
        if rule.d.get("doubt"):
            data["doubt"] = str(rule.d["doubt"])
        return data

    def applies(self, rule: Rule, thing: Thing) -> bool:
        """False where a condition of the rule is not met; beyond a `none` the test itself shows why
        nothing is judged.
        """
        answers = (condition.ev(thing, None) for condition in rule.when)
        return not any(answer is False or answer is NOTHING for answer in answers)

    # ---- the steps of a line
    def operand(self, parent: Name, expression: ex.Expr, spot: Spot, role: str) -> None:
        """Hang what a piece of a line rests on under *parent*: a fact directly, a step as a node of
        its own.
        """
        if isinstance(expression, ex.Flag):
            expression = expression.a
        if isinstance(expression, ex.Path):
            self.path(parent, expression, spot, role)
        elif isinstance(expression, ex.Local):
            # a step of the rule is worth the same whatever member is looked at
            line = Spot(spot.rule, spot.thing, None, f"steps.{expression.name}")
            self.edge(parent, self.step(expression.of, line, expression.name), role)
        elif isinstance(expression, ex.Dated):
            self.edge(parent, self._value(expression), role)
        elif not isinstance(expression, (ex.Num, ex.Word_, ex.Column)):
            self.edge(parent, self.step(expression, spot), role)

    def _value(self, expression: ex.Dated) -> Name:
        """The node of a dated value."""
        name, unit = expression.name, expression.unit
        node = value_name(name)
        if node not in self.g.nodes:
            data = {
                "section": self.k.section(name),
                "edition": self.k.edition,
                "at": str(place_of(self.k.value_items[name])),
            }
            value = expression.value
            self._node(
                node,
                "value",
                data,
                lambda: (f"{name}: {show(value, unit)}", exact_text(value, unit), unit or ""),
            )
        return node

    def step(self, expression: ex.Expr, spot: Spot, name: str = "") -> Name:
        """A node for an operation, a look-up, a total, a comparison; *name* where it is a step of
        the rule.
        """
        if isinstance(expression, NO_OPERATION):
            return self._renaming(expression, spot, name)
        node = spot.name
        if node in self.g.nodes:
            return node
        self._node(
            node,
            "step",
            {"op": expression.operation, "line": spot.path},
            lambda: self._worth("", expression, spot),
        )
        hang = HANGS.get(type(expression), Explainer._hang_kids)
        hang(self, node, expression, spot)
        if not self.bare:
            self._say_step(self.g.nodes[node], expression, spot, name)
        return node

    def _renaming(self, expression: ex.Expr, spot: Spot, name: str) -> Name:
        """The node of a step of the rule that is no operation: a fact, say, by another name."""
        node = step_name(spot.rule.id, spot.thing[0].id, spot.path)
        if node not in self.g.nodes:
            self._node(
                node,
                "step",
                {"op": "is", "line": spot.path},
                lambda: self._worth(
                    f"{name}: {say(expression, spot.thing, spot.member)}", expression, spot
                ),
            )
            self.operand(node, expression, spot.below(0), "is")
        return node

    def _worth(self, text: str, expression: ex.Expr, spot: Spot) -> Said:
        """What the node of a step says: a text, and what the piece is worth here, in its unit."""
        unit = unit_of(expression)
        return text, exact_text(spot.value(expression), unit), unit or ""

    def _hang_kids(self, node: Name, expression: ex.Expr, spot: Spot) -> None:
        """Under an operation hang its pieces, by their number."""
        for i, kid in enumerate(expression.kids()):
            self.operand(node, kid, spot.below(i), str(i + 1))

    def _hang_over(self, node: Name, expression: ex.Over, spot: Spot) -> None:
        """Under an aggregate hang the list, what each member adds and why it counts."""
        listed = spot.value(expression.list)
        if isinstance(expression.list, ex.Path):
            self.path(node, expression.list, spot, "over")
        for member in members(listed):
            self._hang_member(node, expression, spot, member)
        if not self.bare:
            taken, may_go_on = expression.taken(spot.thing, spot.member)
            unit = unit_of(expression)
            data = self.g.nodes[node].data
            data["members"] = [
                {
                    "of": member[0].id,
                    "counts": "yes" if counts is True else "unknown",
                    "adds": exact_text(value, unit),
                }
                for member, counts, value in taken
            ]
            data["open"] = bool(may_go_on)
        if expression.default is not None:
            self.operand(node, expression.default, spot.below("or"), "or")

    def _hang_member(self, node: Name, expression: ex.Over, spot: Spot, member: Thing) -> None:
        """Hang why a member counts, and what it adds where it may count."""
        called, counts = member[0].name, True
        if expression.where:
            where = spot.beside(member, "where")
            self.operand(node, expression.where, where, f"counts {called}")
            counts = where.value(expression.where)
        if expression.body and counts is not False and counts is not NOTHING:
            self.operand(node, expression.body, spot.beside(member, "each"), f"of {called}")

    def _hang_quant(self, node: Name, expression: ex.Quant, spot: Spot) -> None:
        """Under a quantifier hang the list, and whether each member is so."""
        if isinstance(expression.list, ex.Path):
            self.path(node, expression.list, spot, "over")
        for member in members(spot.value(expression.list)):
            where = spot.beside(member, "where")
            self.operand(node, expression.where, where, f"is {member[0].name} so")

    def _hang_look(self, node: Name, expression: ex.Look, spot: Spot) -> None:
        """Under a look-up hang its keys, and the cell that it reads."""
        for key, by in expression.keys:
            self.operand(node, by, spot.below(key), f"by {key}")
        if expression.where is not None:
            self._hang_backwards(node, expression, expression.where, spot)
            return
        rows = expression.rows(spot.thing, spot.member) or []
        if len(rows) == 1 and rows[0]:
            self.edge(node, self.cell(expression.table, rows[0], expression.column), "reads")
        else:
            self.g.nodes[node].data["rows possible"] = len(rows)

    def _hang_backwards(self, node: Name, expression: ex.Look, where: ex.Expr, spot: Spot) -> None:
        """Under a look-up backwards hang what its condition reads beside the columns, the first row
        that will do, and the row below that does not.
        """
        table, column = expression.table, expression.column
        self._hang_beside_columns(node, where, spot.below("where"))
        if expression.known_keys(spot.thing, spot.member) is None:
            return
        if not expression.sure(spot.thing, spot.member):
            return
        below = None
        for row in expression.rows(spot.thing, spot.member) or ():
            if where.ev(spot.thing, row) is not False:
                # by keys that are all known a row is found or is not: none of them is OFF
                assert row
                self.edge(node, self.cell(table, row, column), "reads")
                if below:
                    self.edge(node, self.cell(table, below, column), "next below fails")
                return
            below = row

    def _hang_beside_columns(self, node: Name, part: ex.Expr, spot: Spot) -> None:
        if not any(isinstance(piece, ex.Column) for piece in ex.walk(part)):
            self.operand(node, part, spot, "where")
            return
        for i, kid in enumerate(part.kids()):
            self._hang_beside_columns(node, kid, spot.below(i))

    def _say_step(self, node: Node, expression: ex.Expr, spot: Spot, name: str) -> None:
        """The text of a step, with its values filled in, and of a comparison its sides."""
        value = spot.value(expression)
        if isinstance(expression, ex.Cmp):
            self._say_sides(node, expression, spot)
        text = say(expression, spot.thing, spot.member)
        if isinstance(expression, ex.Cond):
            answer = "no" if value is False or value is NOTHING else "cannot tell"
            text += f"? {'yes' if value is True else answer}"
        elif not isinstance(expression, ex.Look):
            text += f" = {show(value, unit_of(expression))}"
        node.text = f"{name}: {text}" if name else text

    def _say_sides(self, node: Node, expression: ex.Cmp, spot: Spot) -> None:
        """What a comparison compares, and by how much it is met or missed."""
        left, right = expression.sides(spot.thing, spot.member)
        left_unit, right_unit = unit_of(expression.a), unit_of(expression.b)
        node.data.update(
            {
                "left": exact_text(spot.value(expression.a), left_unit),
                "right": exact_text(spot.value(expression.b), right_unit),
                "compares": expression.op,
                "left unit": left_unit or "",
                "right unit": right_unit or "",
            }
        )
        if plain(left) and plain(right) and expression.order is None:
            apart = abs(in_unit(left, None) - in_unit(right, None))
            node.data["margin"] = number_text(apart / scale(left_unit), True)
            node.unit = left_unit or ""

    def cell(self, table: Table, row: dict[str, Any], column: str) -> Name:
        """The node of a table cell, with the rows beside it."""
        keys = _label(table, row)
        node = cell_name(table.id, keys, column)
        if node not in self.g.nodes:
            unit = table.unit(column)
            self._node(
                node,
                "cell",
                self._cell_data(table, row, column),
                lambda: (
                    f"{table.id} at {keys}: {table.show(column, row[column])}",
                    exact_text(row[column], unit),
                    unit or "",
                ),
            )
        return node

    def _cell_data(self, table: Table, row: dict[str, Any], column: str) -> Data:
        """What the node of a cell says beside its value: its keys, its source, the rows beside."""
        before, after = table.neighbours(row)
        data: Data = {
            "table": table.id,
            "keys": {key: exact_text(row[key], table.unit(key)) for key in table.keys},
            "column": column,
            "section": self.k.section(table.id, row),
            "edition": self.k.edition,
            "at": str(table.places(row)),
        }
        for said, beside in (("row before", before), ("row after", after)):
            if beside is not None:
                cell = table.show(column, beside[column])
                data[said] = f"{_label(table, beside)}: {cell}"
        if table.d.get("doubt"):
            data["doubt"] = str(table.d["doubt"])
        return data

    def path(self, parent: Name, expression: ex.Path, spot: Spot, role: str) -> None:
        """Hang the fact at the end of a path under *parent*, and what the way to it rests on."""
        holder = spot.member if expression.member else spot.thing
        kind, last = expression.kinds[0], len(expression.slots) - 1
        for i, slot in enumerate(expression.slots):
            name = expression.names[i]
            word = self.k.words.kinds[kind].words[name]
            if i == last:
                self.edge(parent, self.fact(holder, name), role)
                return
            ends = holder[slot] is None or holder[slot] is NONE
            if ends or (self._is_told_link(holder, word) and not self._whole(word)):
                self.edge(parent, self.fact(holder, name), "through")
            if ends:
                return
            holder, kind = holder[slot], word.type[1]

    def _is_told_link(self, holder: Thing, word: Word) -> bool:
        """Is a link one that the job tells, rather than how its things lie in one another?"""
        return (
            not word.part
            and word.type[0] == "ref"
            and holder[0].whole is not holder[word.slot]
            and word.name != "job"
        )

    def _whole(self, word: Word) -> bool:
        """Does a link lead from a part to its whole?"""
        return any(
            other.part and other.type[1] == word.kind
            for other in self.k.words.kinds[word.type[1]].words.values()
        )

    # ---- picks
    def pick(self, pick: Rule, thing: Thing) -> Name:
        """The node of a pick: every row tried, and what each test says of it."""
        node = pick_name(pick.id, thing[0].id)
        if node in self.g.nodes:
            return node
        first, waiting = self.w.picked.get((pick.id, thing[0].id), (None, []))
        rows = self.w.rows_of.get((pick.id, thing[0].id))
        chosen = "unknown" if rows is None or waiting else "none"
        if first is not None and not waiting:
            chosen = show(first[0].row, pick.tries_table.unit(pick.tried.name))
        data = {
            "rule": pick.id,
            "on": thing[0].id,
            "section": pick.section(self.k.edition, thing) or "",
            "edition": self.k.edition,
            "layer": pick.layer,
            "at": str(pick.at),
        }
        self._node(
            node,
            "pick",
            data,
            lambda: (f"{pick.said} {pick.tried.name} of {short(thing)}: {chosen}", chosen, ""),
        )
        for by in pick.tries_keys.values():
            self.operand(node, by, Spot(pick, thing, None, "keys"), "by")
        for row in rows or ():
            self.edge(node, self.row(pick, row), "tries")
            if row is first:
                break
        return node

    def row(self, pick: Rule, tried: Thing) -> Name:
        """The node of a row that a pick tries, and of the tests that say whether it passes."""
        node = row_name(pick.id, tried[0].id)
        if node in self.g.nodes:
            return node
        unit = pick.tries_table.unit(pick.tried.name)
        tests, row = self.k.order.tests[pick.id], tried[0].row
        passes = self.w.row_passes(tests, tried)
        said = {test.id: self.w.answer(test, tried) for test in tests}
        answer = TELL if passes is None else "passes" if passes else "fails"
        self._node(
            node,
            "row",
            {"answer": answer, "tests": said},
            lambda: (f"{show(row, unit)}: {ROW_SAID[passes]}", exact_text(row, unit), unit or ""),
        )
        for test in tests:
            # a row that fails needs no more than what it fails
            if passes is False and said[test.id] in (PASSES, OFF):
                continue
            role = "does not test" if said[test.id] == OFF else "tested by"
            self.edge(node, self.rule(test, tried), role)
        return node


# what is worth something as it stands: a step of a rule may give it a name
NO_OPERATION = (ex.Path, ex.Num, ex.Word_, ex.Dated, ex.Column, ex.Flag, ex.Local)
# by kind of operation: what hangs under it, where that is not just its pieces in their order
HANGS: dict[type[ex.Expr], Callable[[Explainer, Name, Any, Spot], None]] = {
    ex.Over: Explainer._hang_over,
    ex.Look: Explainer._hang_look,
    ex.Quant: Explainer._hang_quant,
}


def _label(table: Table, row: dict[str, Any]) -> str:
    """What a row of a table is called: its keys."""
    return ", ".join(table.show(key, row[key]) for key in table.keys)


def support(world: World, rule: Rule, thing: Thing) -> Graph:
    """All that the answer of *rule* on *thing* rests on, bare; kept with the run, since several
    parts of one answer ask for it.

    >>> from whywire.engine import load
    >>> from whywire.engine.running.job import read_job
    >>> knowledge = load()
    >>> job = read_job({"circuits": {"kiln": {"breaker": {"rating": "60 A"}}}}, knowledge)
    >>> world = World(knowledge, job).run()
    >>> rule = knowledge.rules["breaker-125-percent"]
    >>> graph = support(world, rule, world.things["circuits.kiln.breaker"])
    >>> graph.root
    'rule:breaker-125-percent@circuits.kiln.breaker'
    >>> graph.nodes["fact:circuits.kiln.breaker/rating"].data["origin"]
    'told'
    """
    key = (rule.id, thing[0].id)
    if key not in world.supports:
        explainer = Explainer(world, bare=True)
        explainer.g.root = explainer.rule(rule, thing)
        world.supports[key] = explainer.g
    # the run keeps it for us and does not know what a graph is
    return cast(Graph, world.supports[key])


def supporting(world: World, rule: Rule, thing: Thing) -> Iterator[Node]:
    """The nodes of `support` in their order, for who asks what stands there and not how it hangs:
    of one graph in which all that is asked of the run is there once.

    >>> from whywire.engine import load
    >>> from whywire.engine.running.job import read_job
    >>> knowledge = load()
    >>> job = read_job({"circuits": {"kiln": {"breaker": {"rating": "60 A"}}}}, knowledge)
    >>> world = World(knowledge, job).run()
    >>> rule = knowledge.rules["breaker-125-percent"]
    >>> nodes = list(supporting(world, rule, world.things["circuits.kiln.breaker"]))
    >>> nodes[0].kind, any(node.data.get("origin") == "told" for node in nodes)
    ('rule', True)
    """
    shared = _shared(world)
    nodes = shared.explainer.g.nodes
    return (nodes[name] for name in shared.under(rule, thing))


def givers_under(world: World, rule: Rule, thing: Thing) -> list[str]:
    """The rules that gave a fact that an answer rests on, in the order of `support`.

    >>> from whywire.engine import load
    >>> from whywire.engine.running.job import read_job
    >>> knowledge = load()
    >>> told = {"load": {"type": "kiln", "current": "48 A"}, "breaker": {"rating": "60 A"}}
    >>> world = World(knowledge, read_job({"circuits": {"kiln": told}}, knowledge)).run()
    >>> rule = knowledge.rules["breaker-125-percent"]
    >>> "kiln-is-continuous" in givers_under(world, rule, world.things["circuits.kiln.breaker"])
    True
    """
    shared = _shared(world)
    names = list(shared.under(rule, thing))
    given = {below for name in names for below, role in shared.below.get(name, ()) if role == GIVEN}
    nodes = shared.explainer.g.nodes
    return [nodes[name].data["rule"] for name in names if name in given]


GIVEN = "given by"  # the edge from a fact to the rule that gave it
_SHARED = ("what all answers rest on",)  # where a run keeps it


def _shared(world: World) -> _Shared:
    if _SHARED not in world.supports:
        world.supports[_SHARED] = _Shared(world)
    return cast(_Shared, world.supports[_SHARED])


class _Shared:
    """One bare graph of a run, and what lies under each of its nodes."""

    def __init__(self, world: World) -> None:
        self.explainer = Explainer(world, bare=True)
        self.below: dict[str, list[tuple[str, str]]] = {}  # with the role of each
        self.taken = 0  # edges that are in `below`

    def under(self, rule: Rule, thing: Thing) -> Iterator[str]:
        """Every node that a rule's answer on a thing rests on, that itself first, each before what
        lies under it.
        """
        edges = self.explainer.g.edges
        due: list[str] = [self.explainer.rule(rule, thing)]
        for above, below, role in edges[self.taken :]:
            self.below.setdefault(above, []).append((below, role))
        self.taken = len(edges)
        seen: set[str] = set()
        while due:
            name = due.pop()
            if name not in seen:
                seen.add(name)
                due += [below for below, _ in reversed(self.below.get(name, ()))]
                yield name


__all__ = [
    "Explainer",
    "Graph",
    "Name",
    "Node",
    "PUT_TOGETHER",
    "SET_ASIDE",
    "Place",
    "amount",
    "cell_name",
    "exact_text",
    "fact_name",
    "givers_under",
    "kind_of",
    "measured",
    "parts_of",
    "pick_name",
    "plain",
    "row_name",
    "rule_name",
    "say",
    "scale",
    "short",
    "show",
    "step_name",
    "support",
    "supporting",
    "unit_as_written",
    "unit_of",
    "unit_shown",
    "value_name",
    "whole_of",
]

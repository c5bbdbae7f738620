"""An independent proof check: does every node of a derivation graph follow from the nodes its edges
lead to?

With the chainers it shares what both read (the grammar of lines, rows of tables, words, units, the
job as told) and nothing that evaluates. Each node is recomputed from the values that the nodes
below it claim, and must have exactly the edges its rule's line reads; leaves are compared with the
job and the tables. So a graph that is accepted is right by induction, from the leaves up. Of the
wording (`text`) only what quotes a rule or a table is judged.
"""

from __future__ import annotations

from fractions import Fraction as F
from graphlib import CycleError, TopologicalSorter
from typing import Any, NamedTuple, TypeAlias

from ..language.words import as_list
from .proof_grounds import (
    FILLING,
    Data,
    Item,
    Line,
    Pick,
    Word,
    cell_node,
    fact_node,
    layer_of,
    pick_node,
    row_node,
    row_of,
    rule_node,
    taken_apart,
    thing_of,
)
from .proof_steps import At, Steps, condition, parse
from .proof_values import (
    NONE,
    NOTHING,
    SOME,
    WHOLE,
    Answer,
    Many,
    Row,
    Table,
    Type,
    Value,
    both,
    compare,
    either,
    find,
    label,
    opposite,
    text,
)

PASSES, FAILS, TELL, ADVICE, OFF, SET_ASIDE = (
    "passes",
    "fails",
    "cannot tell",
    "advice",
    "does not apply",
    "exception applies",
)
JUDGING = ("must", "must not", "should")
VERBS = (*JUDGING, *FILLING, "tries", "refers", "warns", "lacks")
# what a rule that judges nothing answers where it holds, if not just "holds"
ANSWERS = {"refers": "refers", "lacks": "not checked", "warns": "warns"}
# where a fact came from that nothing told or gave, by the rank of the verb that fills it
FALLBACKS = ("", "derived", "assumed", "designed")
# what reading a graph that somebody else made may come to
UNREADABLE = (LookupError, ValueError, TypeError, AttributeError, ArithmeticError)

Edge: TypeAlias = tuple[str, str, str]  # from, to, role


class Ruling(NamedTuple):
    """What a rule comes to on a thing."""

    applies: Answer
    fills: dict[str, Value]
    aside: Answer  # is it set aside by an exception?
    holds: Answer
    answer: str


class Settled(NamedTuple):
    """What a fact that rules give comes to."""

    value: Value
    origin: str
    by: str | None
    roles: dict[str, str]  # of each giver


class Givers:
    """What the rules that may give a fact come to, in their order."""

    def __init__(self) -> None:
        self.live: list[tuple[Value, str]] = []  # what is given, and by which rule
        self.open: list[Value] = []  # what a rule may still give
        self.fallback: tuple[int, Value, str] | None = None  # rank, value, rule

    @property
    def known(self) -> list[Value]:
        """The different values that are given."""
        return list(dict.fromkeys(value for value, _ in self.live if value is not None))

    @property
    def agree(self) -> bool:
        """Do all that give it, and all that may, give one known value?"""
        values = [value for value, _ in self.live] + self.open
        return bool(self.known) and all(value == self.known[0] for value in values)

    def part(self, told: Value) -> bool:
        """Is the fact in dispute: do they differ from one another, or from what is told?"""
        if told is None:
            return len(self.known) > 1
        if isinstance(told, tuple):
            return any(compare("=", told, value) is False for value in self.known)
        return any(told != value for value in self.known)


class Proof(Steps):
    """The check against what is in force: rules as written, rows of tables, dated values, words."""

    def check(self, graph: dict[str, Any], job: Any) -> list[str]:
        """A sentence for each node of *graph* that does not follow from what *job* tells; none
        where all of it does.
        """
        self.things = {i: thing[0] for i, thing in job.things.items()}
        self.job = job
        self.faults, self.memo, self.want = [], {}, set()
        self.nodes = {node["id"]: node for node in graph["nodes"]}
        have: set[Edge] = {(e["from"], e["to"], e["role"]) for e in graph["edges"]}
        unsound = self.unsound(graph, have)
        if unsound:
            return [unsound]
        for i, node in self.nodes.items():
            try:
                self.judge(i, node)
            except UNREADABLE as e:
                self.faults.append(f"{i}: it cannot be read ({type(e).__name__}: {e})")
        if not self.faults:
            self.left_over(have)
        return self.faults

    def unsound(self, graph: dict[str, Any], have: set[Edge]) -> str:
        """Why it is no graph: it has a circle, or an edge that leads nowhere; empty where it is."""
        sorter: TopologicalSorter[str] = TopologicalSorter()
        for above, below, _ in have:
            sorter.add(above, below)
        try:
            alone = {graph["root"], *sorter.static_order()} - self.nodes.keys()
        except CycleError as e:
            return f"{e.args[1][0]}: it rests on itself"
        if not alone and len(self.nodes) == len(graph["nodes"]):
            return ""
        return (
            f"{graph['root']}: two nodes have one name, or an edge leads to none"
            f" ({', '.join(alone)})"
        )

    def judge(self, i: str, node: Data) -> None:
        """Judge a node of a kind that stands for itself; steps and rows are judged by what reads
        them.
        """
        kind = node["kind"]
        self.must(i, i.split(":")[0] == kind, f"a {kind} by another name")
        if kind == "fact":
            self.fact(i, node, node["data"])
        elif kind == "cell":
            self.cell(i, node, node["data"])
        elif kind == "value":
            self.value(i, node, node["data"])
        elif kind == "rule":
            self.rule(*taken_apart(i))
        elif kind == "pick":
            self.pick(*taken_apart(i))

    def left_over(self, have: set[Edge]) -> None:
        """Note every step that nothing reads, and every edge too many or too few."""
        for i, node in self.nodes.items():
            if node["kind"] in ("step", "row") and i not in self.memo:
                self.faults.append(f"{i}: it belongs to nothing here")
        for edge in self.want ^ have:
            above, below, role = edge
            rests = "rests" if edge in self.want else "does not rest"
            self.faults.append(f"{above}: it {rests} on {below} ({role})")

    # ---- leaves
    def cell(self, i: str, node: Data, data: Data) -> None:
        """Is a cell what the table has there, with the rows beside it?"""
        table, column = self.k.tables[data["table"]], data["column"]
        labels = [label(table, row) for row in table.rows]
        j = [cell_node(table.id, called, column) for called in labels].index(i)
        row = self.rows[table.id][j]
        said = {key: written(table, key, v) for key, v in row.items()}
        alike = rows_alike(table, row)
        shown, m = (
            [f"{labels[n]}: {table.show(column, table.rows[n][column])}" for n in alike],
            alike.index(j),
        )
        wanted = {
            "table": table.id,
            "keys": {key: said[key] for key in table.keys},
            "column": column,
            **self.source(table.d, table.lines[j], True, row.get(table.d.get("code by"))),
        }
        if m:
            wanted["row before"] = shown[m - 1]
        if m + 1 < len(alike):
            wanted["row after"] = shown[m + 1]
        so = (
            node["value"] == said[column]
            and node["unit"] == (table.unit(column) or "")
            and node["text"] == f"{table.id} at {shown[m]}"
            and data == wanted
        )
        self.must(i, so, f"{table.id} has {shown[m]} there")

    def value(self, i: str, node: Data, data: Data) -> None:
        """Is a dated value the one in force?"""
        name = i[6:]
        (v, t), item = self.k.values[name], self.k.value_items[name]
        so = node["value"] == text((F(v), F(v)), t, node["unit"])
        so = so and data == self.source(item, item.at)
        self.must(i, so, "it has another value or source")

    # ---- facts
    def fact(self, i: str, node: Data, data: Data) -> None:
        """Is a fact what the job tells of it, or what the rules that give it come to?"""
        x, word = data["of"], self.word(data["of"], data["is"])
        meta, pick = self.things[thing_of(x)], self.picks.get(word.kind)
        told = self.told(x, word)
        found = Settled(
            told, "told" if told is not None and word.name in meta.told else "unknown", None, {}
        )
        self.must(i, i == fact_node(self.bearer(x, word), word.name), "it is no fact of this thing")
        if row_of(x) and pick is not None and word.name == pick.fact:
            found = Settled(pick.value(pick.rows[row_of(x)]), "tried", data["by"], {})
            tries = word.name in self.rules[data["by"]].get("tries", ())
            self.must(i, tries, f"{data['by']} does not try it")
        elif (word.kind, word.name) in self.givers and (not row_of(x) or self.settled(word)):
            found = self.settle(x, word, told)
        # a fact without the edges to those that could have given it hides a dispute
        for giver, role in found.roles.items():
            below = pick_node(giver, x) if role == "picked by" else rule_node(giver, x)
            self.want.add((i, below, role))
        found = self.as_known(found, x, word)
        so = (
            node["value"] == text(found.value, word.type, node["unit"])
            and node["unit"] == (word.unit or "")
            and data == fact_data(x, word, meta, found)
        )
        self.must(i, so, f"it is {found.origin}" + (f" by {found.by}" if found.by else ""))

    def as_known(self, found: Settled, x: str, word: Word) -> Settled:
        """What a fact comes to, with where it came from: a job may tell what nobody said."""
        if found.origin != "told":
            return found
        return found._replace(origin=self.job.origin(thing_of(x), word.name))

    def settle(self, x: str, word: Word, told: Value) -> Settled:
        """What a fact comes to that rules give: told beats given, and given beats a fallback; where
        two that are sure differ, it is in dispute.
        """
        rules = self.givers[word.kind, word.name]
        picks = [i for i, item in rules.items() if "tries" in item]
        if picks and told is None:
            v, by = self.pick(picks[0], x), picks[0]
            roles = {i: "not given by" for i in rules if i not in picks} | {by: "picked by"}
            return Settled(v, "unknown" if v is None else "picked", by, roles)
        # only what is given can dispute what is told
        asked = [i for i in rules if i not in picks and (told is None or "gives" in rules[i])]
        givers = Givers()
        for i in asked:
            self.note(givers, i, self.rule(i, x), word.name)
        roles = dict.fromkeys(asked, "not given by")
        if givers.part(told):
            return Settled(None, "disputed", None, self.sides_taken(x, rules))
        if told is not None:
            return Settled(told, "told", None, roles)
        if givers.agree:
            first = givers.live[0][1]
            return Settled(givers.known[0], "derived", first, roles | {first: "given by"})
        if givers.fallback and not givers.live and not givers.open:
            rank, v, by = givers.fallback
            return Settled(v, FALLBACKS[rank], by, roles | {by: "given by"})
        return Settled(None, "unknown", None, roles)

    def sides_taken(self, x: str, rules: dict[str, Item]) -> dict[str, str]:
        """Which rules give a fact that is in dispute: all that hold."""
        holds = {i: self.rule(i, x).answer == "holds" for i in rules}
        return {i: "given by" if so else "not given by" for i, so in holds.items()}

    def note(self, givers: Givers, i: str, ruling: Ruling, fact: str) -> None:
        """Note what one rule gives of a fact, may still give, or fills it with if nothing does."""
        item, v = self.rules[i], ruling.fills.get(fact)
        if ruling.applies is False or ruling.aside is True:
            return
        rank = next(j for j, verb in enumerate(FILLING) if verb in item)
        # a permission gives only where it surely holds
        permits = any(target in self.rules for target in as_list(item.get("exception to")))
        if rank:
            first = givers.fallback is None or rank < givers.fallback[0]
            if ruling.applies and v is not None and first:
                givers.fallback = rank, v, i
        elif ruling.holds or (ruling.applies and not permits):
            givers.live.append((v, i))
        elif not permits:
            givers.open.append(v)

    # ---- picks
    def pick(self, i: str, x: str) -> Value:
        """The value a pick takes: the first row that passes every test; none where none does."""
        node = pick_node(i, x)
        if node in self.memo:
            return self.memo[node]
        item, pick, n = self.rules[i], self.picks[i], self.nodes[node]
        v, shown = self.picked(node, i, x, pick)
        self.memo[node] = v
        so = n["value"] == shown and n["unit"] == "" and n["text"].startswith(item["says"])
        self.must(node, so, f"it takes {shown}")
        data = {"rule": i, "on": x, "layer": layer_of(item)}
        data |= self.source(item, self.k.rules[i].at)
        self.must(node, n["data"] == data, "it comes from elsewhere")
        return v

    def picked(self, node: str, i: str, x: str, pick: Pick) -> tuple[Value, str]:
        """The first row that passes every test, and what it is called: unknown where a key or a row
        before it is.
        """
        at = At(i, x, self.rules[i]["about"])
        keys = {key: self.operand(node, line, at, "keys", "by") for key, line in pick.keys}
        if any(v is SOME or v in (None, WHOLE, NONE, NOTHING) for v in keys.values()):
            return None, "unknown"
        waiting = False
        for row in filter(None, find(pick.table, self.rows[pick.table.id], keys)):
            shown, tried = pick.table.show(pick.fact, row[pick.fact]), row[pick.fact]
            y = f"{x}@{shown}"
            below = row_node(i, y)
            self.want.add((node, below, "tries"))
            passes = self.row(below, y, pick, tried)
            if passes:
                return (None, "unknown") if waiting else (pick.value(tried), shown)
            waiting = waiting or passes is None
        return (None, "unknown") if waiting else (NONE, "none")

    def row(self, node: str, y: str, pick: Pick, v: Any) -> bool | None:
        """Does a tried row pass: yes, no, or None where a test cannot tell."""
        n = self.nodes[node]
        data = n["data"]
        self.memo[node] = None
        so = list(data["tests"]) == pick.tests and set(data) == {"tests", "answer"}
        self.must(node, so, "it is tested by other rules")
        answers = set()
        for i, said in data["tests"].items():
            # a row that fails needs no more than what it fails
            if data["answer"] == FAILS and said in (PASSES, OFF):
                continue
            role = "does not test" if said == OFF else "tested by"
            self.want.add((node, rule_node(i, y), role))
            answer = self.rule(i, y).answer
            self.must(node, answer == said, f"{i} does not answer {said}")
            answers.add(answer)
        against = answers - {PASSES, OFF, SET_ASIDE}
        out = False if against - {TELL} else None if against else True
        so = data["answer"] == {True: PASSES, None: TELL, False: FAILS}[out]
        t = pick.table.type_of(pick.fact)
        so = so and n["value"] == text(pick.value(v), t, n["unit"])
        self.must(node, so, f"it does not follow that it {data['answer']}")
        return out

    # ---- rules
    def rule(self, i: str, x: str) -> Ruling:
        """What a rule comes to on a thing, from the nodes its lines lead to."""
        node, item = rule_node(i, x), self.rules[i]
        # asked by every fact it gives and every rule that it sets aside
        if node in self.memo:
            ruling: Ruling = self.memo[node]
            return ruling
        n, at = self.nodes[node], At(i, x, item["about"])
        verb = next((v for v in VERBS if v in item), "exception")
        when = enumerate(as_list(item.get("when")))
        applies = both(
            [self.operand(node, condition(line), at, f"when.{j}", "when") for j, line in when]
        )
        met, own = self.judged(node, item, verb, at, applies)
        case = None
        if "code by" in item:
            case = self.operand(node, parse(item["code by"], "sum"), at, "code by", "cited by")
        # a rule that surely does not apply gives nothing, and its lines need not be in the graph
        fills = self.filled(node, item, verb, at) if applies is not False else {}
        against = {e: self.rule(e, x) for e in self.exceptions[i]}
        self.want |= {(node, rule_node(e, x), "exception") for e in against}
        aside = either([e.holds for e in against.values()])
        holds = both([applies, met, *(opposite(e.holds) for e in against.values())])
        # only a verdict can be set aside aloud: what a filler would have given is simply not given
        if verb not in JUDGING:
            answer = answer_of(verb, applies, aside)
        elif aside and not self.is_quiet(own, against):
            answer = SET_ASIDE
        else:
            answer = own
        data = self.rule_data(i, x, verb, answer, case)
        if verb in JUDGING:
            data["own answer"] = own
        if fills:
            words = {fact: self.word(x, fact) for fact in fills}
            data["gives"] = {f: text(v, words[f].type, words[f].unit) for f, v in fills.items()}
        so = n["value"] == answer and n["unit"] == "" and n["text"] == item["says"]
        so = so and n["data"] == data
        self.must(node, so, f"it {answer}, as {data['section']} has it")
        self.memo[node] = ruling = Ruling(applies, fills, aside, holds, answer)
        return ruling

    def is_quiet(self, own: str, against: dict[str, Ruling]) -> bool:
        """Do exceptions that hold go unsaid? A bare permission is not announced for what passes
        anyway, and none for what does not apply.
        """
        if own != PASSES:
            return own == OFF
        holding = [self.rules[e] for e, ruling in against.items() if ruling.holds]
        return not any(verb in item for item in holding for verb in VERBS)

    def rule_data(self, i: str, x: str, verb: str, answer: str, case: Value) -> Data:
        """What the node of any rule says beside its answer."""
        item = self.rules[i]
        return {
            "rule": i,
            "on": x,
            "answer": answer,
            "verb": verb,
            "layer": layer_of(item),
            **self.source(item, self.k.rules[i].at, True, case if isinstance(case, str) else None),
        }

    def judged(
        self, node: str, item: Item, verb: str, at: At, applies: Answer
    ) -> tuple[Answer, str]:
        """(is its test met, its own answer) of a rule that judges; of any other its test is met."""
        if verb not in JUDGING or applies is False:
            return True, OFF
        v = self.operand(node, condition(item[verb]), at, verb, verb)
        if verb == "must not":
            v = opposite(v)
        if v == NOTHING:
            return False, OFF
        if v is True:
            return v, PASSES
        if v is None or applies is None:
            return v, TELL
        return v, ADVICE if verb == "should" else FAILS

    def filled(self, node: str, item: Item, verb: str, at: At) -> dict[str, Value]:
        """What a rule fills each of its facts with."""
        fills: dict[str, Value] = {}
        for fact, line in item[verb].items() if verb in FILLING else ():
            t = self.word(at.thing, fact).type
            v = self.operand(node, line_of(line, t), at, f"{verb}.{fact}", f"{verb} {fact}")
            # an amount of which nothing is known fills nothing
            nothing = v in (SOME, WHOLE) or (v == NOTHING and t[0] != "row")
            fills[fact] = None if nothing else NONE if v == NOTHING else v
        return fills


def line_of(line: str, t: Type) -> Line:
    """The line that fills a fact: a word where it is one that the fact may be."""
    if line in {"flag": ("yes", "no"), "choice": t[-1]}.get(t[0], ()):
        return "word", {"yes": True, "no": False}.get(line, line)
    return parse(line, "cond" if t[0] == "flag" else "sum")


def answer_of(verb: str, applies: Answer, aside: Answer) -> str:
    """What a rule answers that judges nothing."""
    if applies is False:
        return OFF
    if aside:
        return SET_ASIDE
    # a warning is given where it may be needed
    if applies or verb == "warns":
        return ANSWERS.get(verb, "holds" if aside is False else TELL)
    return TELL


def fact_data(x: str, word: Word, meta: Any, found: Settled) -> Data:
    """What the node of a fact says beside its value."""
    data = {"of": x, "is": word.name, "origin": found.origin}
    if found.by:
        data["by"] = found.by
    if word.name in meta.written and found.origin in ("told", "assumed", "disputed"):
        written_as, _, at = meta.written[word.name]
        data |= {"as written": written_as, "at": str(at)}
    if word.name in meta.looked:
        data["looked"] = "and found no marking"
    if word.type[0] == "many":
        data["open"] = not isinstance(found.value, Many) or found.value.open
    return data


def written(table: Table, column: str, v: Any) -> str:
    """A cell as a node has it."""
    unit = table.unit(column)
    return text((v, v) if unit else v, table.type_of(column), unit)


def rows_alike(table: Table, row: Row) -> list[int]:
    """The rows that differ in one key alone: that which goes between rows, or else the first."""
    moving = next((key for key, (how, _) in table.keys.items() if how != "exact"), None)
    others = [key for key in table.keys if key != (moving or next(iter(table.keys)))]
    return [j for j, r in enumerate(table.rows) if all(r[key] == row[key] for key in others)]

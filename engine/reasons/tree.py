"""A reason as a tree that a person reads: sixteen lines at most, each resting on those under it.

The tree is what of the derivation leads to the elements of the reason; steps of lines and rules are
passed through, so that fact stands over fact. Each line stands once, where it is nearest to the
conclusion; what is too deep, too many or too wide is folded into the line it is under, and that is
said. What only says *that* a rule applies is one last line.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ..basics.sentinels import NONE
from ..basics.units import in_unit
from ..language import expressions as ex
from ..language.rules import JUDGING, Rule
from ..language.things import Thing, members
from ..proving.as_said import is_as_said
from ..proving.graph import Name, Node, parts_of, whole_of
from ..proving.wording import phrase, plain, show, unit_as_written, unit_shown
from ..running.chain import SET_ASIDE, World
from .elements import ASSUMED, DESIGNED, TOLD, WHOLE, Element
from .minimal import Reason

MOST_LINES, DEEPEST, WIDEST = 16, 5, 4
LONGEST_NOTE = 40  # characters of arithmetic beside a value
# The four kinds of line: what somebody said, what was assumed or designed, what was read in a
# table, what a rule works out or asks for.
SAID, TAKEN, READ, RULED = "said", "assumed", "table", "rule"
UNKNOWN = "unknown"  # in the place of what nobody said, where that is what an outcome waits for
WORD_OF = {TOLD: "you said", WHOLE: "you said", ASSUMED: "assumed", DESIGNED: "designed"}
# what leads to nothing that an outcome rests on
BESIDE = ("not given by", "does not test", "next below fails")
ASKED = {">=": "at least", ">": "more than", "<=": "at most", "<": "less than", "=": "exactly"}
FORBIDDEN = {">=": "less than", ">": "at most", "<=": "more than", "<": "at least"}
FACTOR = ("1",)  # what multiplies to nothing new


class Entry:
    """One line: what is so and who says so, and the lines that it rests on."""

    def __init__(self, name: str, kind: str, text: str, source: str = "") -> None:
        self.name, self.kind, self.text, self.source = name, kind, text, source
        self.note = ""  # how its value is worked out
        self.whose = ""  # of which thing it is, said where another line says the same of another
        self.under: list[Entry] = []
        self.folded = 0  # lines under it that are not shown
        self.number = 0  # by which other lines name it that rest on it, too
        self.also: list[int] = []  # the numbers of lines that it rests on and that stand elsewhere
        self.bound = ""  # how far its amount may move with nothing turned
        self.whatever: list[str] = []  # what turns nothing, whatever it is
        self.nought = False  # adds nothing, multiplies by one
        self.operand = False  # a side of the comparison itself

    def all(self) -> Iterator[Entry]:
        """The line and all under it, from the top."""
        yield self
        for entry in self.under:
            yield from entry.all()

    @property
    def lines(self) -> int:
        """How many lines it takes with all under it."""
        return sum(1 for _ in self.all())

    @property
    def depth(self) -> int:
        """How many levels it has."""
        return 1 + max((entry.depth for entry in self.under), default=0)

    @property
    def said(self) -> str:
        """What it says, without who says so."""
        parts = [f"({self.number}) " if self.number else "", self.text]
        if self.whose:
            parts.append(f" ({self.whose})")
        if self.note:
            parts.append(f" = {self.note}")
        if self.bound:
            parts.append(f", {self.bound}")
        if self.whatever:
            parts.append(f", {_listed(self.whatever)}")
        if self.also:
            parts.append(f", with {' and '.join(f'({number})' for number in self.also)}")
        if self.folded:
            parts.append(f"  ({self.folded} more)")
        return "".join(parts)


def _listed(whatever: list[str]) -> str:
    """What turns nothing, with the words that all of it begins with said once.

    >>> _listed(["whatever the joint limit", "whatever the temperature rating"])
    'whatever the joint limit and temperature rating'
    >>> _listed(["spare or not", "whatever the load"])
    'spare or not and whatever the load'
    """
    begun = "whatever the "
    if not all(said.startswith(begun) for said in whatever):
        return " and ".join(whatever)
    return begun + " and ".join(said.removeprefix(begun) for said in whatever)


def tree_of(world: World, reason: Reason, sentence: str) -> Entry:
    """The tree of a reason under a sentence that says its outcome."""
    return fitted(_Builder(world, reason).tree(sentence))


class _Builder:
    """Reads the tree of a reason off the derivation."""

    def __init__(self, world: World, reason: Reason) -> None:
        self.world, self.reason, self.graph = world, reason, reason.graph
        self.out: dict[str, list[tuple[str, str]]] = {}
        self.above: dict[str, list[tuple[str, str]]] = {}
        for above, below, role in self.graph.edges:
            self.out.setdefault(above, []).append((below, role))
            self.above.setdefault(below, []).append((above, role))
        self.on = reason.outcome.thing
        self.elements = [self._as_known(one) for one in reason.elements]
        self.element = {(one.thing, one.fact): one for one in self.elements}
        self._leading = self._back_from_elements()
        self._entries: dict[str, Entry] = {}

    def _as_known(self, element: Element) -> Element:
        """An element as people know it: what was told for want of somebody who said it was
        assumed.
        """
        known = self.world.job.origin(element.thing, element.fact)
        sort = {"assumed": ASSUMED, "designed": DESIGNED}.get(known, element.sort)
        return element._replace(sort=sort)

    # ---- the whole
    def tree(self, sentence: str) -> Entry:
        """The lines of the reason under its sentence, not yet fitted to a page."""
        root = self.graph.nodes[Name(self.graph.root)]
        top = Entry(root.id, RULED, sentence, section_of(root))
        speaks = self._lifting(root) or root
        top.under = self._body(speaks) or self._in_roles(speaks, ("when",))
        covered = self._elements_under(entry.name for entry in top.under)
        top.under += self._applying(speaks, [e for e in self.elements if e not in covered])
        self._say_whatever(top)
        once(top)
        say_whose(top, self.graph.nodes)
        return top

    def _body(self, root: Node) -> list[Entry]:
        """What the conclusion itself rests on: the sides of its comparison, needed before had."""
        if root.kind != "rule":
            return self._given(root) if root.kind == "fact" else self._below(root.id)
        rule = self.world.k.rules[root.data["rule"]]
        for step, role in self.out.get(root.id, ()):
            if role == rule.verb and rule.verb in JUDGING:
                if rule.comparison:
                    return self._sides(rule, root, rule.comparison, step)
                return self._reached([(step, role)])
        return []

    def _lifting(self, root: Node) -> Node | None:
        """The exception that sets a requirement aside, and speaks in its place."""
        if root.kind != "rule" or root.data["answer"] != SET_ASIDE:
            return None
        holding = [
            self.graph.nodes[Name(below)]
            for below, role in self.out.get(root.id, ())
            if role == "exception" and self.graph.nodes[Name(below)].data["answer"] in HOLDING
        ]
        rules = self.world.k.rules
        judging = [node for node in holding if rules[node.data["rule"]].verb in JUDGING]
        return next(iter([*judging, *holding]), None)

    def _sides(self, rule: Rule, root: Node, test: ex.Cmp, step: str) -> list[Entry]:
        """Both sides of a comparison, what is asked for first."""
        thing = self._thing(root.data["on"])
        asked = (FORBIDDEN if rule.verb == "must not" else ASKED).get(test.op, "")
        sides = []
        for role, side, word in (("2", test.b, asked), ("1", test.a, "")):
            entry = self._side(rule, thing, side, step, role, root)
            if entry is not None:
                if word:
                    entry.text = self._asked_for(entry, word)
                entry.operand = True
                sides.append(entry)
        return sides

    def _asked_for(self, entry: Entry, word: str) -> str:
        """What is asked for: `needs 60 A`, `at most 39.05 A: ampacity`."""
        node = self.graph.nodes[Name(entry.name)]
        asked = "needs" if word == ASKED[">="] else word
        if node.kind != "fact":
            return f"{asked} {entry.text}"
        whose = "" if node.data["of"] == self.on else f" of {_owner(node)}"
        return f"{asked} {node.text.rpartition(': ')[2]}: {node.data['is']}{whose}"

    def _side(
        self, rule: Rule, thing: Thing, side: ex.Expr, step: str, role: str, root: Node
    ) -> Entry | None:
        """One side of a comparison: a fact, or what it is worked out from."""
        for below, edge in self.out.get(step, ()):
            node = self.graph.nodes[Name(below)]
            if edge != role:
                continue
            if node.kind == "fact":
                return self._fact(node)
            value = show(side.ev(thing, None), unit_as_written(side, thing))
            cells = self._cells(below)
            entry = Entry(below, READ if cells else RULED, value, (cells or [section_of(root)])[0])
            entry.note = worked(side, thing)
            entry.under = self._reached([(below, role)])
            return entry
        return None

    # ---- lines
    def _fact(self, node: Node) -> Entry | None:
        """The line of a fact; None where it leads to no element."""
        if node.id in self._entries:
            return self._entries[node.id]
        element = self.element.get((whole_of(node.data["of"]), node.data["is"]))
        if not self._leads_on(node.id) or self._is_empty_list(element):
            return None
        givers = [below for below, role in self.out.get(node.id, ()) if role in GIVEN]
        entry = Entry(node.id, RULED, self._says(node, element))
        self._entries[node.id] = entry
        if element is not None:
            entry.kind = SAID if element.sort in (TOLD, WHOLE) else TAKEN
            entry.source = WORD_OF[element.sort]
            if entry.kind == SAID:
                if self._is_as_said(element):
                    entry.source += ", not measured"
                return entry
        section = next((section_of(self.graph.nodes[Name(giver)]) for giver in givers), "")
        cells = [cell for giver in givers for cell in self._cells(giver)]
        if element is None:
            entry.kind, entry.source = (READ, cells[0]) if cells else (RULED, section)
        elif section:
            entry.source = f"{entry.source}, {section}"
        entry.note = self._note(node, givers)
        entry.under = self._given(node)
        entry.nought = node.value == "0" or node.value in FACTOR and node.unit in ("", "count")
        return entry

    def _is_as_said(self, element: Element) -> bool:
        """Whether somebody said outright what an inspector measures."""
        thing = self.world.things.get(element.thing)
        word = self.world.k.words.kinds[thing[0].kind].words.get(element.fact) if thing else None
        return word is not None and thing is not None and is_as_said(thing, word)

    def _is_empty_list(self, element: Element | None) -> bool:
        """Whether an element is that a list holds nothing: nobody asks about that."""
        if element is None or element.sort != WHOLE:
            return False
        thing = self.world.things[element.thing]
        word = self.world.k.words.kinds[thing[0].kind].words[element.fact]
        return not members(thing[word.slot])

    def _given(self, node: Node) -> list[Entry]:
        """What a fact rests on that rules gave."""
        givers = [(b, role) for b, role in self.out.get(node.id, ()) if role in GIVEN]
        return self._reached(givers)

    def _below(self, node: str) -> list[Entry]:
        return self._reached(self.out.get(node, ()))

    def _in_roles(self, node: Node, roles: tuple[str, ...]) -> list[Entry]:
        return self._reached([(b, r) for b, r in self.out.get(node.id, ()) if r in roles])

    def _reached(self, ends: Iterable[tuple[str, str]]) -> list[Entry]:
        """The lines of the facts to which edges lead, through steps, rules and picks, each once."""
        found: dict[str, Entry] = {}
        for below, role in ends:
            if not self._counts(below, role) or not self._leads_on(below):
                continue
            node = self.graph.nodes[Name(below)]
            if node.kind == "fact":
                entry = self._fact(node)
                if entry is not None:
                    found[entry.name] = entry
            else:
                found.update((entry.name, entry) for entry in self._reached(self._of(node)))
        return list(found.values())

    def _of(self, node: Node) -> list[tuple[str, str]]:
        """The edges from a node; of a pick, to the row before the one it took, which says why."""
        edges = self.out.get(node.id, [])
        if node.kind != "pick":
            return edges
        tried = [edge for edge in edges if edge[1] == "tries"]
        return [edge for edge in edges if edge[1] != "tries"] + (tried[-2:-1] or tried)

    def _counts(self, below: str, role: str) -> bool:
        """Whether what an edge leads to bears on what it comes from."""
        if role in BESIDE:
            return False
        return role != "exception" or self.graph.nodes[Name(below)].data["answer"] in HOLDING

    def _leads_on(self, node: str) -> bool:
        """Whether a node leads to an element."""
        return node in self._leading

    def _back_from_elements(self) -> set[str]:
        """The nodes that lead to an element."""
        todo = [
            node.id
            for node in self.graph.nodes.values()
            if node.kind == "fact" and self._is_element(node)
        ]
        seen = set(todo)
        turns_nothing = {(one.thing, one.fact) for one in self.reason.whatever}
        while todo:
            name = todo.pop()
            for above, role in self.above.get(name, ()):
                node = self.graph.nodes[Name(above)]
                if node.kind == "fact":
                    if (whole_of(node.data["of"]), node.data["is"]) in turns_nothing:
                        continue
                if above not in seen and self._counts(name, role):
                    seen.add(above)
                    todo.append(above)
        return seen

    def _is_element(self, node: Node) -> bool:
        return (whole_of(node.data["of"]), node.data["is"]) in self.element

    def _elements_under(self, names: Iterable[str]) -> set[Element]:
        """The elements to which nodes lead."""
        seen, todo, found = set(), list(names), set()
        while todo:
            name = todo.pop()
            if name in seen:
                continue
            seen.add(name)
            node = self.graph.nodes[Name(name)]
            if node.kind == "fact" and self._is_element(node):
                found.add(self.element[whole_of(node.data["of"]), node.data["is"]])
            todo += [b for b, role in self.out.get(name, ()) if self._counts(b, role)]
        return found

    # ---- that it applies, and what turns nothing
    def _applying(self, root: Node, left: list[Element]) -> list[Entry]:
        """One line for what only says that the rule applies, and that no exception to it does."""
        if not left:
            return []
        conditions = self._in_roles(root, ("when",)) if root.kind == "rule" else []
        wanted = set(left)
        said, covered = [], set()
        for entry in conditions:
            under = self._elements_under([entry.name])
            if under & wanted:
                said.append(self._condition(entry))
                covered |= under
        others = [self._in_a_word(one) for one in left if one not in covered]
        others = list(dict.fromkeys(word for word in others if word))
        text = f"Applies: {', '.join(dict.fromkeys(said))}" if said else ""
        if others:
            text = f"{text}; no exception fits" if said else "No exception fits"
            text += f": {', '.join(others)}"
        entry = Entry(f"{root.id}?applies", SAID, text or "Applies: nothing else is listed")
        entry.source = self._who_says(left)
        if any(one.sort in (ASSUMED, DESIGNED) for one in left):
            entry.kind = TAKEN
        return [entry]

    def _who_says(self, elements: Iterable[Element]) -> str:
        words = dict.fromkeys(WORD_OF[one.sort] for one in elements)
        return ", ".join(words)

    def _condition(self, entry: Entry) -> str:
        """A condition in a word: `hard-wired`, `branch circuit`."""
        node = self.graph.nodes[Name(entry.name)]
        element = self.element.get((whole_of(node.data["of"]), node.data["is"]))
        thing = self._thing(node.data["of"])
        word = self._in_words(thing, node.data["is"], node.text.rpartition(": ")[2])
        return f"{word} (we assumed)" if element and element.sort == ASSUMED else word

    def _in_a_word(self, element: Element) -> str:
        """An element in a word; nothing of a list that is empty."""
        thing = self.world.things[element.thing]
        word = self.world.k.words.kinds[thing[0].kind].words[element.fact]
        value = thing[word.slot]
        if element.sort == WHOLE:
            said = word.said or f"only the {element.fact} listed"
            return said if members(value) else ""
        return self._in_words(
            thing, element.fact, show(value, unit_shown(thing, word.name, word.unit))
        )

    def _in_words(self, thing: Thing, fact: str, value: str) -> str:
        word = self.world.k.words.kinds[thing[0].kind].words[fact]
        if word.said:
            return phrase(word.said, value)
        if word.type[0] == "flag":
            return fact if value == "yes" else f"not {fact}"
        if word.type[0] in ("choice", "row", "text"):
            return value
        return f"{fact} {value}"

    def _say_whatever(self, top: Entry) -> None:
        """Say of what turns nothing that it does not, at the line nearest to it."""
        shown = {entry.name: entry for entry in top.all()}
        facts = {name.rpartition("/")[2] for name in shown if name.startswith("fact:")}
        for element in self.reason.whatever:
            level = [
                node.id
                for node in self.graph.nodes.values()
                if node.kind == "fact"
                and (whole_of(node.data["of"]), node.data["is"]) == (element.thing, element.fact)
            ]
            seen = set(level)
            while level and not any(name in shown for name in level):
                level = [a for name in level for a, _ in self.above.get(name, ()) if a not in seen]
                seen.update(level)
            entry = next((shown[name] for name in level if name in shown), top)
            thing = self.world.things[element.thing]
            flag = self.world.k.words.kinds[thing[0].kind].words[element.fact].type[0] == "flag"
            said = f"{element.fact} or not" if flag else f"whatever the {element.fact}"
            if element.fact in facts and not flag:  # of another thing it is not whatever
                said = f"whatever the {thing[0].id.rpartition('.')[2]} has"
            if said not in entry.whatever and entry is not top:
                entry.whatever.append(said)

    # ---- words
    def _says(self, node: Node, element: Element | None) -> str:
        """A fact in few words: as the vocabulary has it for people, or its name and value."""
        fact, value = node.data["is"], node.text.rpartition(": ")[2]
        thing = self._thing(node.data["of"])
        word = self.world.k.words.kinds[thing[0].kind].words[fact]
        if element is not None and element.sort == WHOLE:
            count = len(members(thing[word.slot]))
            return word.said or f"{fact}: only the {count if count > 1 else 'one'} listed"
        return phrase(word.said, value) if word.said else f"{fact}: {value}"

    def _note(self, node: Node, givers: list[str]) -> str:
        """How the value of a fact is worked out, in numbers."""
        for giver in givers:
            rule = self.world.k.rules[parts_of(giver)[0]]
            thing = self._thing(node.data["of"])
            for fill in rule.fills:
                if fill.word.name == node.data["is"]:
                    return worked(fill.expr, thing)
        return ""

    def _cells(self, start: str) -> list[str]:
        """The sections of the tables that a line reads."""
        found = []
        for below, role in self.out.get(start, ()):
            node = self.graph.nodes[Name(below)]
            if node.kind == "cell" and role == "reads":
                found.append(section_of(node) or str(node.data["table"]))
            elif node.kind == "step":
                found += self._cells(below)
        return list(dict.fromkeys(found))

    def _thing(self, name: str) -> Thing:
        """A thing of the job, or a row that is tried, by its id."""
        if name in self.world.things:
            return self.world.things[name]
        found = [row for rows in self.world.rows_of.values() for row in rows if row[0].id == name]
        # two picks may try rows of one name
        pick = self.reason.outcome.pick
        return next((row for row in found if row[0].plane == pick), found[0])


GIVEN = ("given by", "picked by")
HOLDING = ("holds", "passes", "fails", SET_ASIDE)


def section_of(node: Node) -> str:
    """Who says what a node says: a section, or that the trade does."""
    section = str(node.data.get("section", ""))
    # a habit of the trade, or a sorting of our own, has no section
    return "practice" if section[:1].islower() or node.data.get("layer") == "practice" else section


def worked(expression: ex.Expr, thing: Thing) -> str:
    """How a number is worked out, in numbers alone: `125 % × 48 A`. Nothing where that says no more
    than the number, or is long.
    """
    if not isinstance(expression, (ex.Arith, ex.Extreme)):
        return ""
    text = _numbers(expression, thing)
    return text if len(text) <= LONGEST_NOTE and any(sign in text for sign in SIGNS) else ""


SIGNS = ("+", "−", "×", "÷", " and ")


def _numbers(expression: ex.Expr, thing: Thing) -> str:
    """A piece of a line in numbers; what adds nothing and multiplies by one is left out."""
    if isinstance(expression, ex.Extreme):
        pieces = " and ".join(_numbers(piece, thing) for piece in expression.xs)
        return f"the {'smaller' if expression.least else 'larger'} of {pieces}"
    if not isinstance(expression, ex.Arith) or expression.op == "±":
        if isinstance(expression, ex.Num):
            return str(expression.text)
        return show(expression.ev(thing, None), unit_as_written(expression, thing))
    sign = expression.op.replace("-", "−")
    left, right = _numbers(expression.a, thing), _numbers(expression.b, thing)
    nothing = "0" if sign in "+−" else "1"
    if _is_number(expression.b, thing, nothing):
        return left
    if _is_number(expression.a, thing, nothing) and sign in "+×":
        return right
    if sign in "×÷":
        left = f"({left})" if _adds(expression.a) else left
        right = f"({right})" if isinstance(expression.b, ex.Arith) else right
    return f"{left} {sign} {right}"


def _adds(expression: ex.Expr) -> bool:
    return isinstance(expression, ex.Arith) and expression.op in "+-±"


def _is_number(expression: ex.Expr, thing: Thing, number: str) -> bool:
    value = expression.ev(thing, None)
    return plain(value) and value is not NONE and in_unit(value, expression.unit) == int(number)


# ---- each line once, and not too many ------------------------------------------------------------


def once(top: Entry) -> None:
    """Let each line stand once, where it is nearest to the top; elsewhere it is named by a
    number.
    """
    depth = _depths(top)
    placed: set[str] = set()
    again: list[tuple[Entry, Entry]] = []
    todo = [top]
    while todo:
        level, todo = todo, []
        for entry in level:
            kept = []
            for below in entry.under:
                if below.name not in placed and depth[below.name] == depth[entry.name] + 1:
                    placed.add(below.name)
                    kept.append(below)
                else:
                    again.append((entry, below))
            entry.under = kept
            todo += kept
    for entry, below in again:
        entry.also.append(id(below))
    _number(top, {id(below) for _, below in again})


def _depths(top: Entry) -> dict[str, int]:
    """How far from the top each line is at least."""
    depth, level, at = {top.name: 0}, [top], 0
    while level:
        at += 1
        below = [entry for above in level for entry in above.under if entry.name not in depth]
        depth.update((entry.name, at) for entry in below)
        level = list({entry.name: entry for entry in below}.values())
    return depth


def _number(top: Entry, shared: set[int]) -> None:
    """Number the lines that others name, in the order in which they stand."""
    numbers: dict[int, int] = {}
    for entry in top.all():
        if id(entry) in shared:
            entry.number = numbers[id(entry)] = len(numbers) + 1
    for entry in top.all():
        entry.also = sorted({numbers[name] for name in entry.also if name in numbers})


def say_whose(top: Entry, nodes: dict[str, Node]) -> None:
    """Say of which thing a line is where another line says the like of another thing."""
    called: dict[str, set[str]] = {}
    facts = [
        (entry, nodes[entry.name])
        for entry in top.all()
        if entry.name in nodes and nodes[entry.name].kind == "fact"
    ]
    for _, node in facts:
        called.setdefault(node.data["is"], set()).add(whole_of(node.data["of"]))
    for entry, node in facts:
        if len(called[node.data["is"]]) > 1:
            entry.whose = _owner(node)


def _owner(node: Node) -> str:
    """Of which thing a fact is, as people call it."""
    return node.text.rpartition(": ")[0].removeprefix(f"{node.data['is']} of ")


def fitted(top: Entry) -> Entry:
    """Fold what is too deep, too wide or too much, and say so."""
    for entry in top.all():
        if entry.nought:
            _fold(entry)
    _not_deeper(top, 1)
    _not_wider(top)
    while top.lines > MOST_LINES:
        foldable = [
            (at, len(entry.under), place, entry)
            for place, (entry, at) in enumerate(_levels(top, 1))
            if entry.under and at > 1 and not any(below.under for below in entry.under)
        ]
        if not foldable:
            break
        _fold(max(foldable, key=lambda found: found[:3])[3])
    _forget_numbers(top)
    return top


def _levels(top: Entry, at: int) -> Iterator[tuple[Entry, int]]:
    yield top, at
    for entry in top.under:
        yield from _levels(entry, at + 1)


def _fold(entry: Entry) -> None:
    """Leave out the lines under one, and say how many."""
    entry.folded += sum(below.lines + below.folded for below in entry.under)
    entry.under, entry.also = [], []


def _not_deeper(entry: Entry, at: int) -> None:
    if at >= DEEPEST:
        _fold(entry)
    for below in entry.under:
        _not_deeper(below, at + 1)


def _not_wider(entry: Entry) -> None:
    """Put what is more than a line may rest on into one line, what adds nothing first."""
    if len(entry.under) > WIDEST:
        turn = sorted(entry.under, key=lambda below: (below.nought, not below.operand))
        kept = [below for below in entry.under if below in turn[: WIDEST - 1]]
        rest = [below for below in entry.under if below not in kept]
        names = ", ".join(below.text.partition(":")[0] for below in rest)
        more = Entry(f"{entry.name}?more", RULED, f"and {names}")
        more.folded = sum(below.lines - 1 + below.folded for below in rest)
        entry.under = [*kept, more]
    for below in entry.under:
        _not_wider(below)


def _forget_numbers(top: Entry) -> None:
    """Let no line name one that is folded, and number no line that none names."""
    there = {entry.number for entry in top.all()}
    for entry in top.all():
        entry.also = [number for number in entry.also if number in there]
    named = sorted({number for entry in top.all() for number in entry.also})
    new = {number: place for place, number in enumerate(named, 1)}
    for entry in top.all():
        entry.number = new.get(entry.number, 0)
        entry.also = [new[number] for number in entry.also]


__all__ = ["READ", "RULED", "SAID", "TAKEN", "UNKNOWN", "Entry", "tree_of", "worked"]

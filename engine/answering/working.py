"""The arithmetic of one side of a comparison, carried out: the operand that binds, followed down to
facts and cells.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import Any, TypeAlias

from ..basics.sentinels import NOTHING
from ..basics.units import Range, in_unit, number_text, to_base
from ..language import expressions as ex
from ..language.knowledge import Knowledge
from ..language.rules import CODE_BY, Fill
from ..language.things import Thing, members
from ..proving.graph import PUT_TOGETHER, Explainer, plain, show, unit_as_written, unit_shown
from ..running.chain import World
from .findings import Value

Said: TypeAlias = tuple[str, str]  # a line of a working: (text, section)


def loosely_bound(text: str) -> bool:
    """Whether a sum or a difference stands outside every bracket of *text*: in a product it needs
    brackets of its own.
    """
    deep = 0
    for n, c in enumerate(text):
        deep += (c == "(") - (c == ")")
        if not deep and c in "+−±" and text[n - 1 : n] == text[n + 1 : n + 2] == " ":
            return True
    return False


class Working:
    """Follows what a number is made of. ``used`` gathers the rules and tables passed on the way."""

    def __init__(self, world: World) -> None:
        self.world, self.knowledge, self.explainer = world, world.k, Explainer(world)
        self.used: dict[str, None] = {}
        # (thing, fact) told, assumed or picked that the working rests on
        self.leaves: list[tuple[Thing, str]] = []
        # (thing id, fact) of keys whose reason was given once
        self.explained: set[tuple[str, str]] = set()
        # numbers are written closer, so that what is shown comes to what it makes
        self.finer = False
        self._table = ""  # the section of the table last read

    def section(self, name: str, of: Thing | None = None) -> str:
        """The section of a rule, a table or a value, which is then used."""
        self.used[name] = None
        return self.knowledge.section(name, of)

    def cell_section(self, look: ex.Look, thing: Thing, member: Thing | None = None) -> str:
        """The section of a table, of the row that is read where its rows have their own; off the
        table, of the key that has no row.
        """
        case = look.table.d.get(CODE_BY)
        if case is None:
            return self.knowledge.section(look.table.id)
        of = {row.get(case) for row in look.rows(thing, member) or ()} - {None}
        if not of:
            of = {(look.known_keys(thing, member) or {}).get(case)}
        return self.knowledge.section(look.table.id, {case: of.pop()} if len(of) == 1 else None)

    def fill_of(self, rule_id: str, fact: str) -> Fill | None:
        """What a rule fills a fact with."""
        return next((f for f in self.knowledge.rules[rule_id].fills if f.word.name == fact), None)

    # ---- one line
    def shown(self, value: Value, unit: str | None) -> str:
        """A number as it is written in a line."""
        if not self.finer:
            return show(value, unit)
        value = one_number(value)
        if not plain(value) or unit in PUT_TOGETHER or unit in ("date", "°"):
            return show(value, unit)
        number = in_unit(value, unit)
        places = FINER if abs(number) >= 10 else FINER + 2  # two more than usual
        fine = Fraction(round(number * 10**places), 10**places)
        text = number_text(fine, full=True)
        return f"{text} {unit}" if unit and unit != "count" else text

    def carried_out(self, expression: ex.Expr, thing: Thing, member: Thing | None = None) -> str:
        """`125 % × 48 A = 60 A`, with as many figures as it takes for the left side to come to the
        right one.
        """
        value = show(expression.ev(thing, member), expression.unit)
        said = equals(self.work(expression, thing, member), value)
        made = self.made_of(expression, thing, member)
        if made is None or self.comes_to(made, value, expression.unit):
            return said
        self.finer = True
        try:
            return equals(self.work(expression, thing, member), value)
        finally:
            self.finer = False

    @staticmethod
    def comes_to(made: Fraction, value: str, unit: str | None) -> bool:
        """Whether a number that was reckoned is *value*, at the figures that shows."""
        text = value.removesuffix(f" {unit}").replace(",", "")
        places = len(text.partition(".")[2])
        return number_text(round(in_unit(made, unit), places)).replace(",", "") == text

    def made_of(
        self, expression: ex.Expr, thing: Thing, member: Thing | None = None
    ) -> Fraction | None:
        """What the numbers of a line come to as they are written; None where it is no plain sum or
        product.
        """
        if isinstance(expression, ex.Arith) and expression.op in "+-×÷":
            a = self.made_of(expression.a, thing, member)
            b = self.made_of(expression.b, thing, member)
            return None if a is None or b is None else carry_out(expression.op, a, b)
        if isinstance(expression, ex.Extreme):
            return self.made_of(self.binding(expression, thing, member), thing, member)
        value = one_number(expression.ev(thing, member))
        if not plain(value) or isinstance(expression, (ex.Root, ex.Round, ex.Step, ex.Year)):
            return None
        if isinstance(expression, ex.Over) and expression.fn == "total":
            parts = [part for _, _, part in expression.taken(thing, member)[0] if plain(part)]
            return sum((as_written(part, expression.unit) for part in parts), Fraction(0))
        if isinstance(expression, ex.Path):
            return as_written(value, unit_as_written(expression, thing, member))
        return as_written(value, expression.unit)

    def work(
        self, expression: ex.Expr, thing: Thing, member: Thing | None = None, names: bool = True
    ) -> str:
        """A formula with its numbers filled in; what adds nothing or multiplies by one is left
        out.
        """
        writes = WRITES.get(type(expression))
        if writes is None:
            return self.shown(expression.ev(thing, member), expression.unit)
        return writes(self, expression, thing, member, names)

    def _work_number(self, number: ex.Num, thing: Thing, member: Thing | None, names: bool) -> str:
        """A number as the rule wrote it."""
        return number.text

    def _work_arithmetic(
        self, expression: ex.Arith, thing: Thing, member: Thing | None, names: bool
    ) -> str:
        """Two operands and what stands between them."""
        a = self.work(expression.a, thing, member, names)
        b = self.work(expression.b, thing, member, names)
        alone = self._alone(expression, thing, member)
        if alone is not None:
            return a if alone is expression.a else b
        op = expression.op
        if op in "×÷" and loosely_bound(a):
            a = f"({a})"
        again = op == "÷" and isinstance(expression.b, ex.Arith)
        if op in "-×÷" and (loosely_bound(b) or again):
            b = f"({b})"
        return f"{a} {op.replace('-', '−')} {b}"

    @staticmethod
    def _alone(expression: ex.Arith, thing: Thing, member: Thing | None) -> ex.Expr | None:
        """The operand that is all there is to write, where the other changes nothing."""
        a, b = expression.a.ev(thing, member), expression.b.ev(thing, member)
        op = expression.op
        if op in "+-" and plain(b) and b == 0:
            return expression.a
        if op == "+" and plain(a) and a == 0:
            return expression.b
        # one volt is no factor of one
        if op == "×" and plain(a) and a == 1 and not expression.a.t[1]:
            return expression.b
        if op in "×÷" and plain(b) and b == 1 and not expression.b.t[1]:
            return expression.a
        return None

    def _work_path(self, path: ex.Path, thing: Thing, member: Thing | None, names: bool) -> str:
        """A fact, by its name."""
        value = self.shown(path.ev(thing, member), unit_as_written(path, thing, member))
        return f"{path.names[-1]} {value}" if names and path.names else value

    def _work_step_of_rule(
        self, local: ex.Local, thing: Thing, member: Thing | None, names: bool
    ) -> str:
        """A step of a rule, by its name."""
        value = self.shown(local.ev(thing, member), local.unit)
        return f"{local.name} {value}" if names else value

    def _work_dated(self, dated: ex.Dated, thing: Thing, member: Thing | None, names: bool) -> str:
        """A value of the edition, which is then used."""
        self.used[dated.name] = None
        value = show(dated.value, dated.unit)
        return f"{dated.name} {value}" if names else value

    def _work_extreme(
        self, extreme: ex.Extreme, thing: Thing, member: Thing | None, names: bool
    ) -> str:
        """Of several operands the one that binds."""
        return self.work(self.binding(extreme, thing, member), thing, member, names)

    def _work_over(self, over: ex.Over, thing: Thing, member: Thing | None, names: bool) -> str:
        """An aggregate: of a total of several its addends."""
        if over.fn == "total":
            taken, _ = over.taken(thing, member)
            if len(taken) > 1:
                return "(" + " + ".join(self.shown(v, over.unit) for _, _, v in taken) + ")"
        return self.shown(over.ev(thing, member), over.unit)

    def _work_standard(self, step: ex.Step, thing: Thing, member: Thing | None, names: bool) -> str:
        """A step to a standard rating."""
        return f"{self.work(step.a, thing, member, names)} stepped {'up' if step.up else 'down'}"

    def _work_root(self, root: ex.Root, thing: Thing, member: Thing | None, names: bool) -> str:
        """A square root."""
        return f"√({self.work(root.a, thing, member, names)})"

    def _work_year(self, year: ex.Year, thing: Thing, member: Thing | None, names: bool) -> str:
        """The year of a date."""
        return f"the year of {self.work(year.a, thing, member, names)}"

    def _work_round(
        self, rounding: ex.Round, thing: Thing, member: Thing | None, names: bool
    ) -> str:
        """A rounding, and to what."""
        inner = self.work(rounding.a, thing, member, names)
        return f"{inner} rounded {rounding.how} to {self.work(rounding.step, thing, member, names)}"

    def binding(self, extreme: ex.Extreme, thing: Thing, member: Thing | None = None) -> ex.Expr:
        """The operand that sets the result."""
        value = extreme.ev(thing, member)
        hit = [operand for operand in extreme.xs if operand.ev(thing, member) == value]
        # of equals, the one that no look could change
        sure = [operand for operand in hit if not self._assumed(operand, thing, member)]
        operands: list[ex.Expr] = sure or hit or list(extreme.xs)
        return operands[0]

    def _assumed(self, expression: ex.Expr, thing: Thing, member: Thing | None = None) -> bool:
        """Whether an operand is a fact that was assumed, and that nobody looked for."""
        if not isinstance(expression, ex.Path) or not expression.names:
            return False
        holder, fact = expression.holder(thing, member), expression.names[-1]
        return (
            isinstance(holder, list)
            and self.explainer.origin(holder, fact)[0] == "assumed"
            and fact not in holder[0].looked
        )

    # ---- several lines
    def unfold(
        self, expression: ex.Expr, thing: Thing, member: Thing | None = None, source: str = ""
    ) -> list[Said]:
        """(text, section) lines that make up the value, the basic ones first, the result last."""
        if isinstance(expression, ex.Flag):
            expression = expression.a
        unfolds = UNFOLDS.get(type(expression))
        if unfolds is None:
            return [(show(expression.ev(thing, member), expression.unit), source)]
        return unfolds(self, expression, thing, member, source)

    def _unfold_step_of_rule(
        self, local: ex.Local, thing: Thing, member: Thing | None, source: str
    ) -> list[Said]:
        """A step of a rule: its name before its result."""
        lines = self.unfold(local.of, thing, None, source)
        if not lines:
            return []
        text, section = lines[-1]
        return [*lines[:-1], (f"{local.name}: {text}", section)]

    def _unfold_extreme(
        self, extreme: ex.Extreme, thing: Thing, member: Thing | None, source: str
    ) -> list[Said]:
        """Of several operands the one that binds."""
        return self.unfold(self.binding(extreme, thing, member), thing, member, source)

    def _unfold_over(
        self, over: ex.Over, thing: Thing, member: Thing | None, source: str
    ) -> list[Said]:
        """An aggregate: the member that is the largest, or all that are added."""
        taken, _ = over.taken(thing, member)
        value = over.ev(thing, member)
        if over.fn in ("smallest", "largest"):
            hit = [y for y, _, worth in taken if worth == value]
            if hit and over.body is not None:
                return self.unfold(over.body, thing, hit[0], source)
            return [(f"{over.fn} {show(value, over.unit)}", source)]
        lines = []
        if over.body is not None and len(taken) > 1:
            lines = [(f"{_called(y)}: {show(v, over.unit)}", source) for y, _, v in taken]
        word = "together" if over.fn == "total" else "in number"
        return [*lines, (f"{word} {show(value, over.unit)}", source)]

    def _unfold_standard(
        self, step: ex.Step, thing: Thing, member: Thing | None, source: str
    ) -> list[Said]:
        """A step to a standard rating: from what, and to which."""
        start = show(step.a.ev(thing, member), step.unit)
        end = show(step.ev(thing, member), step.unit)
        said = f"the next standard rating {'up' if step.up else 'down'} is {end}"
        if start == end:
            said = "a standard rating itself"
        return [(f"{equals(self.work(step.a, thing, member), start)}; {said}", source)]

    def _unfold_written(
        self, expression: ex.Expr, thing: Thing, member: Thing | None, source: str
    ) -> list[Said]:
        """What is one line as it is written, and its worth."""
        value = show(expression.ev(thing, member), expression.unit)
        return [(f"{self.work(expression, thing, member)} = {value}", source)]

    def _path(self, path: ex.Path, thing: Thing, member: Thing | None, source: str) -> list[Said]:
        """A fact that a line reads: how it comes about."""
        holder = path.holder(thing, member)
        if isinstance(holder, list) and path.names:
            return self.fact(holder, path.names[-1], source)
        fact = path.names[-1] if path.names else ""
        value = show(path.ev(thing, member), unit_as_written(path, thing, member))
        return [(f"{fact} {value}", source)]

    def fact(self, holder: Thing, fact: str, source: str = "") -> list[Said]:
        """The working of a fact."""
        word = self.knowledge.words.kinds[holder[0].kind].words[fact]
        said = f"{fact} {show(holder[word.slot], unit_shown(holder, fact, word.unit))}"
        origin, by = self.explainer.origin(holder, fact)
        fill = self.fill_of(by, fact) if origin == "derived" and by else None
        if fill is not None and by:
            section = self.section(by, holder)
            if isinstance(fill.expr, ex.Word_):
                return [(said, section)]
            return self.unfold(fill.expr, holder, None, section) or [(said, section)]
        self.leaves.append((holder, fact))
        if origin in ("assumed", "designed") and by:
            how = "looked, no marking" if fact in holder[0].looked else origin
            return [(f"{said} ({how})", self.section(by, holder))]
        return [(said, source)]

    # ---- a look-up
    def keys_text(self, look: ex.Look, thing: Thing, member: Thing | None) -> str:
        """The keys of a look-up, without what was said once already, a line above."""
        told = [
            (key, at)
            for key, at in look.keys
            if len(look.keys) == 1 or not self._said_above(at, thing, member)
        ]
        return ", ".join(self.key_text(look, key, at, thing, member) for key, at in told)

    def key_text(
        self, look: ex.Look, key: str, at: ex.Expr, thing: Thing, member: Thing | None
    ) -> str:
        """`90 °C column`, `3 conductors`, `86 °F`: a key as it is read in the table."""
        value = show(at.ev(thing, member), unit_as_written(at, thing, member))
        if key == "column":
            return f"{value} column"
        counted = look.table.unit(key) and at.unit == "count"
        return f"{value} {key}" if counted else value

    def _said_above(self, at: ex.Expr, thing: Thing, member: Thing | None) -> bool:
        """Whether the reason of a key was given before."""
        if not isinstance(at, ex.Path) or not at.names:
            return False
        holder = at.holder(thing, member)
        return isinstance(holder, list) and (holder[0].id, at.names[-1]) in self.explained

    def _look(self, look: ex.Look, thing: Thing, member: Thing | None, source: str) -> list[Said]:
        """A cell of a table: its keys, its worth, and what set the keys that rules found."""
        self.used[look.table.id] = None
        self._table = self.cell_section(look, thing, member)
        value = show(look.ev(thing, member), look.unit)
        what = "" if look.unit == "A" or look.t[0] in ("row", "word") else f"{look.column} "
        keys = self.keys_text(look, thing, member)
        lines = [(f"{keys}: {what}{value}", together(self._table, source))]
        for key, at in look.keys:
            if isinstance(at, ex.Path):
                self._why_key(key, at, thing, member, lines)
        return lines

    def _why_key(
        self, key: str, path: ex.Path, thing: Thing, member: Thing | None, lines: list[Said]
    ) -> None:
        """What set a key: it is noted, and the column an ampacity is read in says whose it is."""
        holder = path.holder(thing, member)
        if not isinstance(holder, list) or not path.names:
            return
        fact = path.names[-1]
        if (holder[0].id, fact) in self.explained:
            return
        if key == "column":
            self.explained.add((holder[0].id, fact))
        origin, by = self.explainer.origin(holder, fact)
        if origin in ("told", "picked", "tried", "designed", "assumed"):
            self.leaves.append((holder, fact))
        if origin == "assumed" and by:
            self.used[by] = None
        if origin != "derived" or not by:
            return
        self.used[by] = None
        fill = self.fill_of(by, fact)
        if fill is None:
            return
        column = f"{show(path.ev(thing, member), path.unit)} column"
        if isinstance(fill.expr, ex.Extreme):
            self._why_bound(fill.expr, holder, by, column, lines)
            return
        table = self._table
        self.unfold(fill.expr, holder, None, "")  # only for what it rests on
        if isinstance(fill.expr, ex.Look) and key == "column":
            source = together(self.section(by, holder), table)
            lines[0] = (_said_of(lines[0][0], column, self._whose(holder)), source)

    def _why_bound(
        self, extreme: ex.Extreme, holder: Thing, by: str, column: str, lines: list[Said]
    ) -> None:
        """Which of several operands set a key: a cable, or an end with its marking."""
        bound, member = self._member_that_binds(self.binding(extreme, holder), holder)
        if isinstance(bound, ex.Dated):
            self.section(bound.name)
        if not isinstance(bound, ex.Path) or not bound.names:
            return
        thing, fact = bound.holder(holder, member), bound.names[-1]
        if not isinstance(thing, list):
            return
        origin, giver = self.explainer.origin(thing, fact)
        self.leaves.append((thing, fact))
        source = self.section(giver, thing) if giver else self.section(by, holder)
        marking = ""
        if origin == "assumed":
            looked = fact in thing[0].looked
            marking = ", looked, no marking there" if looked else ", no marking told"
        elif origin == "told":
            marking = ", as marked"
        text = _said_of(lines[0][0], column, self._whose(thing) + marking)
        lines[0] = (text, together(source, self._table))

    @staticmethod
    def _member_that_binds(bound: ex.Expr, holder: Thing) -> tuple[ex.Expr, Thing | None]:
        """Of an aggregate its body and the member whose worth it is; anything else as it is."""
        if not isinstance(bound, ex.Over):
            return bound, None
        taken, _ = bound.taken(holder, None)
        value = bound.ev(holder, None)
        hit = next((y for y, _, worth in taken if worth == value), None)
        # a count has no body
        return (bound, None) if hit is None or bound.body is None else (bound.body, hit)

    def _whose(self, thing: Thing) -> str:
        """What sets a column: the cable of a segment, or a termination."""
        method = self.knowledge.words.kinds[thing[0].kind].words.get("method")
        if method is not None and isinstance(thing[method.slot], str):
            return str(thing[method.slot])
        return str(thing[0].name)

    # ---- sums and products
    def _arith(
        self, expression: ex.Arith, thing: Thing, member: Thing | None, source: str
    ) -> list[Said]:
        """A product from its base on, a sum of several addend by addend, else one line."""
        if expression.op == "×":
            return self._product(expression, thing, member, source)
        if expression.op == "+":
            addends = flatten(expression, "+")
            facts = len(addends) > 2 and all(isinstance(a, ex.Path) for a in addends)
            if facts or any(isinstance(a, ex.Over) for a in addends):
                value = show(expression.ev(thing, member), expression.unit)
                return self._sum(addends, thing, member, source, value)
        return [(self.carried_out(expression, thing, member), source)]

    def _sum(
        self,
        addends: list[ex.Expr],
        thing: Thing,
        member: Thing | None,
        source: str,
        value: str,
    ) -> list[Said]:
        """A line for each addend that is not nothing, and what they are together."""
        lines: list[Said] = []
        for addend in addends:
            if _is_zero(addend.ev(thing, member)):
                continue
            if isinstance(addend, ex.Over) and addend.body is not None:
                lines += self._added_members(addend, addend.body, thing, member, source)
            else:
                lines.append(self._addend(addend, thing, member, source))
        return [*lines, (f"together {value}", source)]

    def _added_members(
        self, over: ex.Over, body: ex.Expr, thing: Thing, member: Thing | None, source: str
    ) -> list[Said]:
        """What each member of a list adds to a sum: what the *body* of the aggregate is on it."""
        lines: list[Said] = []
        for part in self._adding(over, body, thing, member):
            worth = body.ev(thing, part)
            if _is_zero(worth):
                continue
            inner = self.unfold(body, thing, part, source)
            text, section = inner[-1] if inner else (show(worth, over.unit), source)
            lines.append((f"{describe(part, self.knowledge)}  {text}", section))
        return lines

    @staticmethod
    def _adding(over: ex.Over, body: ex.Expr, thing: Thing, member: Thing | None) -> list[Thing]:
        """The members that a sum takes from an aggregate.

        The largest of them is one addend; to list them all would not add up.
        """
        listed = over.list.ev(thing, member)
        parts = [] if listed is NOTHING else members(listed)
        if over.fn not in ("smallest", "largest"):
            return parts
        value = over.ev(thing, member)
        return [part for part in parts if body.ev(thing, part) == value][:1]

    def _addend(self, addend: ex.Expr, thing: Thing, member: Thing | None, source: str) -> Said:
        """One addend of a sum: what it is, how it comes about, what it adds."""
        holder = addend.holder(thing, member) if isinstance(addend, ex.Path) else None
        if not isinstance(addend, ex.Path) or not addend.names or not isinstance(holder, list):
            return self.work(addend, thing, member), source
        worth = addend.ev(thing, member)
        value = show(worth, addend.unit)
        name = addend.names[-1]
        origin, by = self.explainer.origin(holder, name)
        fill = self.fill_of(by, name) if origin == "derived" and by else None
        if fill is None or not by:
            return f"{name}: {value}", source
        section = self.section(by, holder)
        made = fill.expr
        if isinstance(made, ex.Over) and made.fn == "total" and made.body is not None:
            parts, section = self._parts_of_total(made, holder, addend.unit, section)
            return f"{name}: " + ("; ".join(parts) if parts else value), section
        work = equals(self.work(made, holder, None, names=False), value)
        if work == value:
            work = self._one_that_sets(made, holder, worth, value)
        return f"{name}: {work}", section

    def _parts_of_total(
        self, total: ex.Over, holder: Thing, unit: str | None, section: str
    ) -> tuple[list[str], str]:
        """What each member adds to a total, and the section of the rule that says how."""
        said = []
        for part, _, worth in total.taken(holder, None)[0]:
            value = show(worth, unit)
            made = self._made_by_rule(total.body, holder, part)
            if made is None:
                said.append(f"{describe(part, self.knowledge)}: {value}")
                continue
            giver, owner, formula = made
            section = together(self.section(giver, owner)) or section
            work = equals(self.work(formula, owner, None, names=False), value)
            said.append(f"{describe(owner, self.knowledge)}: {work}")
        return said, section

    def _made_by_rule(
        self, body: ex.Expr | None, holder: Thing, part: Thing
    ) -> tuple[str, Thing, ex.Expr] | None:
        """(rule, thing, formula) of a fact that a rule gives to a member of a list."""
        if not isinstance(body, ex.Path):
            return None
        owner = body.holder(holder, part)
        if not isinstance(owner, list):
            return None
        _, giver = self.explainer.origin(owner, body.names[-1])
        fill = self.fill_of(giver, body.names[-1]) if giver else None
        return None if fill is None or not giver else (giver, owner, fill.expr)

    def _one_that_sets(self, made: ex.Expr, holder: Thing, worth: Value, value: str) -> str:
        """Where one thing alone sets an addend: which, if its working ends in that value."""
        same = next(
            (
                part
                for part in ex.walk(made)
                if isinstance(part, ex.Path)
                and part.names
                and not part.member
                and part.ev(holder, None) == worth
            ),
            made,
        )
        inner = self.unfold(same, holder)
        return inner[0][0] if inner and inner[0][0].endswith(value) else value

    def _product(
        self, expression: ex.Arith, thing: Thing, member: Thing | None, source: str
    ) -> list[Said]:
        """A base read from a table, then each factor that is not one with where it comes from, then
        the product.
        """
        factors = flatten(expression, "×")
        base = next((factor for factor in factors if isinstance(factor, ex.Look)), None)
        if base is None:
            return [(self.carried_out(expression, thing, member), source)]
        lines = self._look(base, thing, member, "")
        said = [show(base.ev(thing, member), base.unit)]
        for factor in factors:
            if factor is base:
                continue
            worth = factor.ev(thing, member)
            is_path = isinstance(factor, ex.Path)
            if plain(worth) and worth == 1:
                if is_path:
                    # a factor of one is not printed, and still rests on something
                    self.unfold(factor, thing, member, source)
                continue
            inner = self.unfold(factor, thing, member, source)
            if is_path and inner:
                lines.append(inner[0])
            said.append(show(worth, factor.unit))
        if len(said) > 1:
            text, section = lines[-1]
            value = show(expression.ev(thing, member), expression.unit)
            product = " × ".join(s.removesuffix(" A") for s in said)
            lines[-1] = (f"{text}; {product} = {value}", section)
        return lines


# How each kind of piece is written in one line; any other by its worth alone.
WRITES: dict[type[ex.Expr], Callable[[Any, Any, Thing, Thing | None, bool], str]] = {
    ex.Num: Working._work_number,
    ex.Arith: Working._work_arithmetic,
    ex.Path: Working._work_path,
    ex.Local: Working._work_step_of_rule,
    ex.Dated: Working._work_dated,
    ex.Extreme: Working._work_extreme,
    ex.Over: Working._work_over,
    ex.Step: Working._work_standard,
    ex.Root: Working._work_root,
    ex.Year: Working._work_year,
    ex.Round: Working._work_round,
}

# How each kind of piece is unfolded into lines; any other into its worth alone.
UNFOLDS: dict[type[ex.Expr], Callable[[Any, Any, Thing, Thing | None, str], list[Said]]] = {
    ex.Path: Working._path,
    ex.Local: Working._unfold_step_of_rule,
    ex.Extreme: Working._unfold_extreme,
    ex.Over: Working._unfold_over,
    ex.Look: Working._look,
    ex.Arith: Working._arith,
    ex.Step: Working._unfold_standard,
    ex.Root: Working._unfold_written,
    ex.Year: Working._unfold_written,
    ex.Round: Working._unfold_written,
}


def carry_out(op: str, a: Fraction, b: Fraction) -> Fraction | None:
    """What two numbers come to; None where it cannot be divided.

    >>> carry_out("÷", Fraction(3), Fraction(2))
    Fraction(3, 2)
    """
    if op == "+":
        return a + b
    if op == "-":
        return a - b
    if op == "×":
        return a * b
    return a / b if b else None


def _is_zero(value: Value) -> bool:
    """Whether an addend adds nothing."""
    return plain(value) and bool(value == 0)


def _said_of(text: str, column: str, whose: str) -> str:
    """A line with what set the column beside it: `75 °C column (breaker, as marked)`."""
    return text.replace(column, f"{column} ({whose})")


FINER = 4  # places behind the point of a number of 10 and more, where the usual two do not do


def one_number(value: Value) -> Value:
    """A number that a root leaves open only behind the figures that are shown, as one number."""
    near = isinstance(value, Range) and None not in (value.lo, value.hi)
    return (
        value.lo
        if near and number_text(Fraction(value.lo)) == number_text(Fraction(value.hi))
        else value
    )


def as_written(value: Value, unit: str | None) -> Fraction:
    """A number as people read it: by the figures that are shown."""
    shown = Fraction(number_text(in_unit(value, unit)).replace(",", ""))
    return Fraction(to_base(shown, unit or "count"))


def equals(work: str, value: str) -> str:
    """`125 % × 48 A = 60 A`; a single value is not set equal to itself."""
    return (
        work
        if work == value
        or (work.endswith(" " + value) and not any(f" {op} " in work for op in "+−×÷"))
        else f"{work} = {value}"
    )


def together(*sources: str) -> str:
    """Sections side by side, without one that another already names."""
    out: list[str] = []
    for s in sources:
        if s and not s[0].islower() and not any(s in o for o in out):
            out = [
                o for o in out if o.removeprefix("Table ") not in s or o.startswith("Table ")
            ] + [s]
    return ", ".join(out)


def flatten(expression: ex.Expr, op: str) -> list[ex.Expr]:
    """The operands of a chain of one operation."""
    if isinstance(expression, ex.Arith) and expression.op == op:
        return flatten(expression.a, op) + flatten(expression.b, op)
    return [expression]


def describe(part: Thing, knowledge: Knowledge) -> str:
    """A member of a list by what it is: `3 × 6 AWG`, `kiln circuit`."""
    said = " ".join(_features(part, knowledge))
    kind, name = part[0].kind.replace("box ", ""), part[0].name
    if said:
        return f"{said} {kind}" if name.isdigit() else f"{name}: {said}"
    return f"{kind} {name}" if name.isdigit() else str(name)


def _features(part: Thing, knowledge: Knowledge) -> list[str]:
    """How many, of which size, how wide: what tells one member of a list from another."""
    words = knowledge.words.kinds[part[0].kind].words
    said = []
    for name in ("count", "size", "gangs"):
        word = words.get(name)
        if word is None or part[word.slot] is None or isinstance(part[word.slot], list):
            continue
        value = show(part[word.slot], word.unit)
        if name == "count":
            value = f"{value} ×"
        elif name == "gangs":
            value = "1 gang" if value == "1" else f"{value} gangs"
        said.append(value)
    return said


def _called(thing: Thing) -> str:
    """What a thing is called in a list: its name, or its kind where it has a number alone."""
    meta = thing[0]
    return f"{meta.kind} {meta.name}" if meta.name.isdigit() else meta.name

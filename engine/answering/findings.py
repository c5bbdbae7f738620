"""Every requirement judged on every thing: the findings of a run, what could turn them, what would
settle them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any, TypeAlias

from ..basics.sentinels import NONE, NOTHING
from ..basics.units import Range, parse_quantity
from ..language import expressions as ex
from ..language.rules import JUDGING, Rule
from ..language.things import Thing
from ..language.words import Word
from ..proving.graph import show, supporting
from ..running.chain import ADVICE, FAILS, LACKS, OFF, PASSES, REFERS, SET_ASIDE, TELL, WARNS, World
from ..running.program import program_of
from ..running.rerun import Rerun
from .amended import Edit, as_plain, through, withdrawn_from

Value: TypeAlias = Any  # whatever a cell may hold
Change: TypeAlias = tuple[str, str, Value]  # (thing id, fact, value)

FEW = 4  # choices of a fact that are all tried
NEAR = 2  # questions tried for each that is shown: those the most waits for
MOMENTS = "moments-of-work"  # the table that puts the moments of cautions in order, and into steps


class Need:
    """A fact that would settle something: the question, and where the answer is found."""

    def __init__(self, of: str, fact: str, ask: str, look: str, careful: str, effort: int) -> None:
        self.of, self.fact, self.ask, self.look, self.careful, self.effort = (
            of,
            fact,
            ask,
            look,
            careful,
            effort,
        )

    @property
    def said(self) -> str:
        return f"{self.fact} of {self.of}"


class Finding:
    """One requirement on one thing. *answer*: passes, fails, cannot tell or advice."""

    def __init__(
        self, rule: str, on: str, answer: str, layer: str, source: str, says: str, doubt: str = ""
    ) -> None:
        self.rule, self.on, self.answer, self.layer, self.source, self.says, self.doubt = (
            rule,
            on,
            answer,
            layer,
            source,
            says,
            doubt,
        )
        self.exception = ""  # the exception that lets it pass
        self.whichever = ""  # the fact that is not told, and with whose every value it passes
        self.unless: list[dict[str, Any]] = []
        self.needs: list[Need] = []
        self.refers = ""  # what to do, where a rule refuses to conclude: nobody is asked for a fact
        self.through: list[Edit] = []  # the edits it rests on
        self.withdrawn: list[
            tuple[str, Edit]
        ] = []  # exceptions to it that were withdrawn: (rule, edit)

    def as_dict(self) -> dict[str, Any]:
        """The finding as plain data."""
        return {
            "rule": self.rule,
            "on": self.on,
            "answer": self.answer,
            "unless": self.unless,
            "layer": self.layer,
            "source": self.source,
            "says": self.says,
            "needs": [{"of": n.of, "is": n.fact, "ask": n.ask, "look": n.look} for n in self.needs],
            **({"refers": self.refers} if self.refers else {}),
            **({"exception": self.exception} if self.exception else {}),
            **({"whichever": self.whichever} if self.whichever else {}),
            **({"doubt": self.doubt} if self.doubt else {}),
            **({"through": [as_plain(e) for e in self.through]} if self.through else {}),
            **(
                {"withdrawn": [{"rule": i, **as_plain(e)} for i, e in self.withdrawn]}
                if self.withdrawn
                else {}
            ),
        }


SPEAKING = (*JUDGING, "refers", "warns", "lacks")  # verbs of rules that say something


def judged(world: World) -> Iterator[tuple[Rule, Thing, str]]:
    """(rule, thing, answer) of every judging, refusing, warning and lacking rule that has something
    to say.
    """
    for kind, things in world.by_kind.items():
        if not things:
            continue
        slots = world.k.slots
        rules = [(rule, slots[rule.id]) for rule in program_of(world.k).rules_about(kind, SPEAKING)]
        for thing in things:
            for rule, slot in rules:
                # of most rules nothing is to be said: they do not apply
                if thing[slot] is OFF or thing[slot] is False:
                    continue
                verdict = world.answer(rule, thing)
                if verdict != OFF:
                    yield rule, thing, verdict


def findings(world: World, whatif: Rerun | None = None) -> list[Finding]:
    """Every finding, in the order of the things and of the rules' names. With *whatif*, fails say
    what could turn them.
    """
    return [
        finding_of(world, rule, thing, verdict, whatif)
        for rule, thing, verdict in judged(world)
        # a refusal whose cause is not shown is no finding
        if rule.verb in JUDGING or verdict == REFERS
    ]


def finding_of(
    world: World, rule: Rule, thing: Thing, verdict: str, whatif: Rerun | None
) -> Finding:
    """One finding, with what would settle it, what could turn it, and the edits it rests on."""
    refers = verdict == REFERS
    found = Finding(
        rule.id,
        thing[0].id,
        TELL if refers else PASSES if verdict == SET_ASIDE else verdict,
        rule.layer,
        rule.section(world.k.edition, thing) or "",
        str(rule.d["refers"]) if refers else rule.said,
        doubt=str(rule.d.get("doubt", "")),
    )
    if refers:
        found.refers = found.says
    exception = world.lifting(rule, thing) if verdict == SET_ASIDE else None
    if exception is not None:
        # "has GFCI protection" is not said of what an exception lets be without
        found.exception, found.says = exception.id, exception.said
    if found.answer == TELL and rule.verb in JUDGING:
        need = whichever(world, rule, thing, whatif)
        if need:
            found.answer, found.whichever = PASSES, need.said
    if found.answer == TELL:
        found.needs = needs(world, rule, thing)
    if found.answer == FAILS:
        found.unless = unless(world, rule, thing, whatif)
    if world.k.trail:
        found.through = through(world, rule, thing)
        if found.answer in (FAILS, TELL):
            found.withdrawn = withdrawn_from(world.k, rule.id)
    return found


# ---- what would settle it ------------------------------------------------------------------------


def needs(world: World, rule: Rule, thing: Thing) -> list[Need]:
    """The facts, cheapest to learn first, that keep *rule* from an answer on *thing*."""
    missing = Missing(world)
    missing.in_rule(rule, thing)
    if not missing.out:
        # ask also for a list that is not told whole, since nothing else would settle it
        missing = Missing(world, lists=True)
        missing.in_rule(rule, thing)
    return missing.cheapest_first()


def needs_of_fact(world: World, thing: Thing, fact: str) -> list[Need]:
    """The facts that keep *fact* of *thing* from being known."""
    missing = Missing(world)
    missing.in_fact(thing, fact)
    return missing.cheapest_first()


class Missing:
    """Gathers the facts that keep something from being known: a walk back from rules to facts to
    the rules that give those, each once.
    """

    def __init__(
        self, world: World, lists: bool = False, seen: tuple[tuple[str, ...], ...] = ()
    ) -> None:
        self.world = world
        self.lists = lists  # lists that are not told whole are asked for, too
        self.out: dict[tuple[str, str], Need] = {}
        self.seen: set[tuple[str, ...]] = set(seen)

    def cheapest_first(self) -> list[Need]:
        """What is missing, the cheapest to learn first."""
        return sorted(self.out.values(), key=lambda need: (need.effort, need.of, need.fact))

    def in_rule(self, rule: Rule, thing: Thing) -> None:
        """What keeps a rule from an answer: its conditions first, then what it says."""
        key = rule.id, thing[0].id, thing[0].plane
        if key in self.seen:
            return
        self.seen.add(key)
        undecided = []
        for condition in rule.when:
            met = condition.ev(thing, None)
            if met is False or met is NOTHING:
                return
            if met is None:
                undecided.append(condition)
        for condition in undecided:
            self.within(condition, thing, None)
        # conditions that wait for nothing that can be told do not keep the rest from being asked
        if undecided and self.out:
            return
        if rule.test is not None:
            self.within(rule.test, thing, None)
        for fill in rule.fills:
            self.within(fill.expr, thing, None)

    def within(self, expression: ex.Expr, thing: Thing, member: Thing | None) -> None:
        """What keeps a piece of a line from being known."""
        if isinstance(expression, ex.Path):
            self.along_path(expression, member if expression.member else thing)
            return
        for spot in expression.needs(thing, member):
            self.within(*spot)

    def along_path(self, path: ex.Path, holder: Any) -> None:
        """The first fact on the way to a cell that is not known."""
        kind = path.kinds[0]
        for name, slot in zip(path.names, path.slots):
            value = holder[slot]
            if value is None or isinstance(value, Range):
                self.in_fact(holder, name)
                return
            if value is NONE or value is NOTHING:
                return
            word = self.world.k.words.kinds[kind].words[name]
            if word.type[0] == "ref":
                holder, kind = value, word.type[1]
            elif word.type[0] == "many" and getattr(value, "open", False):
                self.in_fact(holder, name)

    def in_fact(self, thing: Thing, fact: str) -> None:
        """What keeps a fact from being known: what its rules wait for, or the fact itself where
        nothing behind it is cheaper to learn.
        """
        meta = thing[0]
        if (meta.id, fact) in self.seen:
            return
        self.seen.add((meta.id, fact))
        givers = self.world.k.order.givers.get((meta.kind, fact), ())
        if meta.plane and any(giver.verb in ("tries", "designs") for giver in givers):
            self.in_fact(meta.slot, fact)
            return
        if self.in_reckoned(givers, thing, fact):
            return
        before = len(self.out)
        for giver in givers:
            if giver.verb == "tries":
                self.in_pick(giver, thing)
            elif self.may_give(giver, thing):
                self.in_rule(giver, thing)
        self.ask(thing, fact, list(self.out)[before:])

    def may_give(self, giver: Rule, thing: Thing) -> bool:
        """Whether a rule gives a fact, or might."""
        live = thing[self.world.k.slots[giver.id]] is not False
        return live and self.world.set_aside(giver, thing) is not True

    def in_reckoned(self, givers: Iterable[Rule], thing: Thing, fact: str) -> bool:
        """Whether a fact is reckoned from what was told, as watts, and waits for the rest of that:
        it is asked for in no other form.
        """
        for giver in givers:
            if giver.verb not in ("reckons", "assumes") or not self.may_give(giver, thing):
                continue
            fills = [fill.expr for fill in giver.fills if fill.word.name == fact]
            if not any(_told_of(fill, thing) for fill in fills):
                continue
            rest = Missing(self.world, seen=((thing[0].id, fact),))
            rest.in_rule(giver, thing)
            if rest.out:
                self.out |= rest.out
                return True
        return False

    def in_pick(self, pick: Rule, thing: Thing) -> None:
        """What a pick waits for: its look-up, and the tests of the first row that may pass."""
        slot = thing[0].slot if thing[0].plane else thing
        for key in pick.tries_keys.values():
            self.within(key, slot, None)
        _, waiting = self.world.picked.get((pick.id, slot[0].id), (None, []))
        for candidate in waiting[:1]:
            for test in self.world.k.order.tests[pick.id]:
                if candidate[self.world.k.slots[test.id]] is not TELL:
                    continue
                if self.world.set_aside(test, candidate) is not True:
                    self.in_rule(test, candidate)

    def ask(self, thing: Thing, fact: str, behind: list[tuple[str, str]]) -> None:
        """Ask for a fact, instead of what is *behind* it, unless some of that is cheaper to
        learn.
        """
        meta = thing[0]
        word = self.world.k.words.kinds[meta.kind].words[fact]
        if not word.ask or fact in meta.looked:
            return
        if fact in meta.told and not (self.lists and getattr(meta.told[fact], "open", False)):
            return
        cheapest = min((self.out[key].effort for key in behind), default=word.effort)
        if word.effort > cheapest:
            return
        for key in behind:
            del self.out[key]
        of = meta.id.split("@")[0]
        self.out[of, fact] = Need(of, fact, word.ask, word.look, word.careful, word.effort)


def values_of(world: World, need: Need) -> list[tuple[str, Value]]:
    """(how it is said, value) of each value of a fact of few; none where it may be more."""
    word = word_of(world, need.of, need.fact)
    if word.type[0] == "flag":
        return [("yes", True), ("no", False)]
    if word.type[0] == "choice" and len(word.type[1]) <= FEW:
        # what is not there is said as people say it
        nothing = word.means.get("none")
        return [("none" if choice == nothing else choice, choice) for choice in word.type[1]]
    return []


def whichever(world: World, rule: Rule, thing: Thing, whatif: Rerun | None) -> Need | None:
    """The one fact that *rule* waits for on *thing* though it passes with each of its values: it
    need not be told.
    """
    if whatif is None or thing[0].plane:
        return None
    if whatif.telling:
        # What passed either way before something was told is looked at again: it waits for nothing
        # new.
        told = whatif.telling
        with whatif.told() as before:
            need = whichever(before, rule, thing, whatif)
        if need is None:
            return None
        so = _passes_with_each(rule, thing, whatif, need, values_of(world, need), list(told))
        return need if so else None
    key = "whichever", rule.id, thing[0].id
    if key not in whatif.remembered:
        wanted = needs(world, rule, thing)
        values = values_of(world, wanted[0]) if len(wanted) == 1 else []
        so = bool(values) and _passes_with_each(rule, thing, whatif, wanted[0], values, [])
        whatif.remembered[key] = wanted[0] if so else None
    found: Need | None = whatif.remembered[key]
    return found


def _passes_with_each(
    rule: Rule,
    thing: Thing,
    whatif: Rerun,
    need: Need,
    values: list[tuple[str, Value]],
    told: list[Change],
) -> bool:
    """Whether a rule passes with each value of a fact, beside what is told otherwise."""
    return all(
        passes_under(rule, thing, whatif, [*told, (need.of, need.fact, value)])
        for _, value in values
    )


def _told_of(expression: ex.Expr, thing: Thing) -> bool:
    """Whether somebody told a number, a word or a size that a formula reads."""
    for path in ex.paths(expression):
        if path.own_fact is None:
            continue
        if path.t[0] in ("ref", "many"):
            continue
        holder = path.holder(thing, None)
        if isinstance(holder, list) and path.names[-1] in holder[0].told:
            return True
    return False


# ---- what could turn it --------------------------------------------------------------------------


def unless(world: World, rule: Rule, thing: Thing, whatif: Rerun | None) -> list[dict[str, Any]]:
    """What could turn a *fails*: an exception not proven, or a lawful default that nobody looked
    behind.
    """
    out = [
        exception_open(world, exception, thing)
        for exception in world.k.order.exceptions.get(rule.id, ())
        if world.holds(exception, thing) is None
    ]
    if whatif is not None and not thing[0].plane:
        turned = turning(world, rule, thing, whatif)
        if turned:
            out.append(default_open(world, turned))
    return out


def exception_open(world: World, exception: Rule, thing: Thing) -> dict[str, Any]:
    """An exception that is not shown, and what to tell for it."""
    tell = needs(world, exception, thing)
    if not tell:  # its own conditions are met: what would set it aside is not known
        for against in world.k.order.exceptions.get(exception.id, ()):
            tell += needs(world, against, thing)
    return {
        "exception": exception.id,
        "source": exception.section(world.k.edition, thing) or "",
        "says": exception.said,
        "tell": [need.said for need in tell],
        "ask": [need.ask for need in tell],
    }


def default_open(world: World, turned: list[Change]) -> dict[str, Any]:
    """Lawful defaults that nobody looked behind, and what they would have to be."""
    return {
        "assumed": [f"{fact} of {on}" for on, fact, _ in turned],
        "if": [
            f"{fact} of {on} is {show(value, unit_of(world, on, fact))}"
            for on, fact, value in turned
        ],
        "ask": [word_of(world, on, fact).ask for on, fact, _ in turned],
    }


def word_of(world: World, thing: str, fact: str) -> Word:
    """The word of a fact of a thing."""
    return world.k.words.kinds[world.things[thing][0].kind].words[fact]


def unit_of(world: World, thing: str, fact: str) -> str | None:
    """The unit of a fact of a thing."""
    return word_of(world, thing, fact).unit


def assumed(world: World, rule: Rule, thing: Thing) -> list[Change]:
    """(thing, fact, value worth trying) of every lawful default under an answer that nobody has
    looked behind.
    """
    open_to_it = (
        fact not in each[0].told and fact not in each[0].looked
        for kind, fact in program_of(world.k).instead_under(rule.id)
        for each in world.by_kind[kind]
    )
    if not any(open_to_it):
        return []
    out = []
    for node in supporting(world, rule, thing):
        if node.kind != "fact" or node.data["origin"] != "assumed" or "looked" in node.data:
            continue
        on, fact = node.data["of"].split("@")[0], node.data["is"]
        word = word_of(world, on, fact)
        for text in word.try_instead:
            value = parse_quantity(text, word.unit)[0] if word.unit else text
            out.append((on, fact, value))
    return sorted(set(out), key=lambda change: (change[0], change[1]), reverse=True)


def turning(world: World, rule: Rule, thing: Thing, whatif: Rerun) -> list[Change]:
    """The fewest lawful defaults that, told otherwise, would let *rule* pass on *thing*; none if
    none would.
    """
    changes = [
        (on, fact, value)
        for on, fact, value in assumed(world, rule, thing)
        if world.things[on][word_of(world, on, fact).slot] != value
    ]
    if not changes:
        return []
    for change in changes:
        if passes_under(rule, thing, whatif, [change]):
            return [change]
    return changes if passes_under(rule, thing, whatif, changes) else []


def passes_under(rule: Rule, thing: Thing, whatif: Rerun, changes: list[Change]) -> bool:
    """Does *rule* pass on *thing* once *changes* are told?"""
    said = ((on, fact, repr(value)) for on, fact, value in changes)
    key = "passes under", rule.id, thing[0].id, *said
    if key not in whatif.remembered:
        with whatif.told() as world:
            before = refused(world, thing)
        with whatif.told(changes) as world:
            passes = world.answer(rule, world.things[thing[0].id]) in (PASSES, SET_ASIDE)
            whatif.remembered[key] = passes and refused(world, thing) <= before
    return bool(whatif.remembered[key])


def refused(world: World, thing: Thing) -> set[str]:
    """The rules that refuse to conclude on *thing*: whoever must be asked has not
    answered.
    """
    y = world.things[thing[0].id.split("@")[0]]
    rules = program_of(world.k).rules_about(y[0].kind, ("refers",))
    return {rule.id for rule in rules if world.answer(rule, y) == REFERS}


def cautions(world: World) -> list[dict[str, Any]]:
    """What to take care of: at which moment, in which step of the work, in the order of the
    work.
    """
    out: dict[str, dict[str, Any]] = {}
    for rule, thing, verdict in judged(world):
        if verdict != WARNS:
            continue
        if rule.id not in out:
            out[rule.id] = {
                "rule": rule.id,
                "at": str(rule.d["at"]),
                "step": "",
                "says": str(rule.d["warns"]),
                "source": rule.section(world.k.edition, thing) or "",
                "layer": rule.layer,
                "on": [],
            }
        out[rule.id]["on"].append(thing[0].id)
    table = world.k.tables.get(MOMENTS)
    rows = table.rows if table else []
    order = {row["moment"]: (place, row["step"]) for place, row in enumerate(rows)}
    for caution in out.values():
        at = caution["at"]
        # a moment that only some pack knows
        caution["step"] = order[at][1] if at in order else at[:1].upper() + at[1:]
    return sorted(out.values(), key=lambda c: order.get(c["at"], (len(order), ""))[0])


def not_checked(world: World) -> list[dict[str, Any]]:
    """What no rule here looks at, for want of rules."""
    out: dict[str, dict[str, Any]] = {}
    for rule, thing, verdict in judged(world):
        if verdict != LACKS and not (rule.verb == "lacks" and verdict == TELL):
            continue
        if rule.id not in out:
            out[rule.id] = {
                "rule": rule.id,
                "says": str(rule.d["lacks"]),
                "source": rule.section(world.k.edition, thing) or "",
                "on": [],
            }
        out[rule.id]["on"].append(thing[0].id)
    return list(out.values())


def assumptions(world: World) -> list[dict[str, Any]]:
    """Every fact of the job that was assumed or designed rather than told."""
    out = [_assumed_in_the_job(world, *one) for one in sorted(world.job.assumed)]
    for kind, xs in world.by_kind.items():
        for x in xs:
            for word in world.k.words.kinds[kind].words.values():
                v = x[word.slot]
                if v is None or not world.k.order.givers.get((kind, word.name)):
                    continue
                _, origin, by = world.settle(kind, word.name, x)
                if by and origin in ("assumed", "designed"):
                    out.append(
                        {
                            "of": x[0].id,
                            "is": word.name,
                            "value": show(v, word.unit),
                            "origin": origin,
                            "by": by,
                            "source": world.k.section(by, x),
                            "looked": word.name in x[0].looked,
                        }
                    )
    return out


def _assumed_in_the_job(world: World, of: str, fact: str) -> dict[str, Any]:
    """A fact that the job's file names as assumed: no rule gave it, and nobody said it."""
    thing = world.things[of]
    word = world.k.words.kinds[thing[0].kind].words[fact]
    return {
        "of": of,
        "is": fact,
        "value": show(thing[word.slot], word.unit),
        "origin": "assumed",
        "by": None,
        "source": "common practice",
        "looked": False,
    }


def disputes(world: World) -> list[dict[str, Any]]:
    """Facts on which two live conclusions, or a conclusion and what was told, disagree."""
    out = []
    for thing, fact in sorted(world.disputes):
        if "@" in thing:
            continue
        x = world.things[thing]
        word = world.k.words.kinds[x[0].kind].words[fact]
        says = [
            (g.id, show(x[world.k.results[g.id, fact]], word.unit))
            for g in world.k.order.givers[x[0].kind, fact]
            if g.verb == "gives"
            and x[world.k.slots[g.id]] is True
            and world.set_aside(g, x) is not True
        ]
        told = [("told", show(x[0].told[fact], word.unit))] if fact in x[0].told else []
        out.append(
            {"of": thing, "is": fact, "values": [{"by": b, "value": v} for b, v in told + says]}
        )
    return out


__all__ = [
    "findings",
    "Finding",
    "Need",
    "ADVICE",
    "needs",
    "needs_of_fact",
    "unless",
    "turning",
    "cautions",
    "not_checked",
    "assumptions",
    "disputes",
    "passes_under",
]

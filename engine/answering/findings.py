"""Every requirement judged on every thing: the findings of a run, what could turn them, what would
settle them.
"""

from __future__ import annotations

from ..basics.sentinels import NONE, NOTHING
from ..basics.units import SOME, Range, parse_quantity
from ..language import expressions as ex
from ..language.rules import JUDGING, Rule
from ..language.things import members
from ..proving.graph import show, support
from ..running.chain import ADVICE, FAILS, LACKS, OFF, PASSES, REFERS, SET_ASIDE, TELL, WARNS, World
from ..running.rerun import Rerun
from .amended import as_plain, through, withdrawn_from

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
        self.unless: list[dict] = []
        self.needs: list[Need] = []
        self.through: list = []  # the edits it rests on
        self.withdrawn: list = []  # exceptions to it that were withdrawn: (rule, edit)

    def as_dict(self) -> dict:
        return {
            "rule": self.rule,
            "on": self.on,
            "answer": self.answer,
            "unless": self.unless,
            "layer": self.layer,
            "source": self.source,
            "says": self.says,
            "needs": [{"of": n.of, "is": n.fact, "ask": n.ask, "look": n.look} for n in self.needs],
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


def judged(w: World):
    """(rule, thing, answer) of every judging, refusing, warning and lacking rule that has something
    to say.
    """
    for kind, xs in w.by_kind.items():
        rules = [
            r
            for r in w.k.rules.values()
            if r.about == kind and r.verb in (*JUDGING, "refers", "warns", "lacks")
        ]
        for x in xs:
            for r in rules:
                a = w.answer(r, x)
                if a != OFF:
                    yield r, x, a


def findings(w: World, whatif: Rerun | None = None) -> list[Finding]:
    """Every finding, in the order of the things and of the rules' names. With *whatif*, fails say
    what could turn them.
    """
    out = []
    for r, x, a in judged(w):
        if r.verb in ("warns", "lacks"):
            continue
        if a == REFERS:
            a, says = TELL, str(r.d["refers"])
        elif r.verb == "refers":  # a refusal whose cause is not shown is no finding
            continue
        else:
            says = r.said
        f = Finding(
            r.id,
            x[0].id,
            PASSES if a == SET_ASIDE else a,
            r.layer,
            r.section(w.k.edition, x) or "",
            says,
            doubt=str(r.d.get("doubt", "")),
        )
        if a == SET_ASIDE:
            f.exception = (e := w.lifting(r, x)).id
            # "has GFCI protection" is not said of what an exception lets be without
            f.says = e.said
        if f.answer == TELL and r.verb in JUDGING and (n := whichever(w, r, x, whatif)):
            f.answer, f.whichever = PASSES, n.said
        if f.answer == TELL:
            f.needs = needs(w, r, x)
        if f.answer == FAILS:
            f.unless = unless(w, r, x, whatif)
        if w.k.trail:
            f.through = through(w, r, x)
            f.withdrawn = withdrawn_from(w.k, r.id) if f.answer in (FAILS, TELL) else []
        out.append(f)
    return out


# ---- what would settle it ------------------------------------------------------------------------

# among what was seen: ask also for a list that is not told whole, since nothing else would settle
# it
LISTS = "lists"


def needs(w: World, r: Rule, x: list) -> list[Need]:
    """The facts, cheapest to learn first, that keep rule *r* from an answer on *x*."""
    out: dict[tuple, Need] = {}
    _missing_in_rule(w, r, x, out, set())
    if not out:
        _missing_in_rule(w, r, x, out, {LISTS})
    return sorted(out.values(), key=lambda n: (n.effort, n.of, n.fact))


def needs_of_fact(w: World, x: list, fact: str) -> list[Need]:
    """The facts that keep *fact* of *x* from being known."""
    out: dict[tuple, Need] = {}
    _missing_fact(w, x, fact, out, set())
    return sorted(out.values(), key=lambda n: (n.effort, n.of, n.fact))


def _open(v) -> bool:
    return v is None or v is SOME or isinstance(v, Range)


def _missing_in_rule(w: World, r: Rule, x: list, out: dict, seen: set) -> None:
    if (r.id, x[0].id, x[0].plane) in seen:
        return
    seen.add((r.id, x[0].id, x[0].plane))
    undecided = [c for c in r.when if c.ev(x, None) is None]
    if any(c.ev(x, None) is False or c.ev(x, None) is NOTHING for c in r.when):
        return
    exprs = undecided or [
        e for e in ([r.test] if r.test is not None else []) + [f.expr for f in r.fills]
    ]
    for e in exprs:
        _missing_in(w, e, x, None, out, seen)
    if undecided and not out:
        for e in ([r.test] if r.test is not None else []) + [f.expr for f in r.fills]:
            _missing_in(w, e, x, None, out, seen)


def _missing_in(w: World, e: ex.Expr, x: list, m, out: dict, seen: set) -> None:
    if isinstance(e, ex.Path):
        o = m if e.member else x
        kind = e.kinds[0]
        for name, slot in zip(e.names, e.slots):
            v = o[slot]
            if v is None or isinstance(v, Range):
                _missing_fact(w, o, name, out, seen)
                return
            if v is NONE or v is NOTHING:
                return
            word = w.k.words.kinds[kind].words[name]
            if word.type[0] == "ref":
                o, kind = v, word.type[1]
            elif word.type[0] == "many" and getattr(v, "open", False):
                _missing_fact(w, o, name, out, seen)
        return
    if isinstance(e, (ex.Over, ex.Quant)):
        lst = e.list.ev(x, m)
        _missing_in(w, e.list, x, m, out, seen)
        for y in members(lst):
            for k in (e.where, e.body) if isinstance(e, ex.Over) else (e.where,):
                if k is not None and _open(k.ev(x, y)):
                    _missing_in(w, k, x, y, out, seen)
        return
    if isinstance(e, ex.Local):
        _missing_in(w, e.of, x, None, out, seen)
        return
    if isinstance(e, ex.Look) and e.where is not None:
        for _, k in e.keys:
            _missing_in(w, k, x, m, out, seen)
        for p in _outside_columns(e.where):
            _missing_in(w, p, x, m, out, seen)
        return
    for k in e.kids():
        if _open(k.ev(x, m)):
            _missing_in(w, k, x, m, out, seen)


def _outside_columns(e: ex.Expr):
    """What the condition of a look-up reads beside the table; a list is taken whole, its members
    are its own.
    """
    if isinstance(e, (ex.Path, ex.Local, ex.Over, ex.Quant)):
        yield e
        return
    for k in e.kids():
        yield from _outside_columns(k)


def _missing_fact(w: World, x: list, fact: str, out: dict, seen: set) -> None:
    meta = x[0]
    if (meta.id, fact) in seen:
        return
    seen.add((meta.id, fact))
    word = w.k.words.kinds[meta.kind].words[fact]
    before = len(out)
    givers = w.k.order.givers.get((meta.kind, fact), ())
    if meta.plane and any(g.verb in ("tries", "designs") for g in givers):
        _missing_fact(w, meta.slot, fact, out, seen)
        return
    for g in givers:
        if (
            g.verb in ("reckons", "assumes")
            and x[w.k.slots[g.id]] is not False
            and w.set_aside(g, x) is not True
            and any(f.word.name == fact and _told_of(f.expr, x) for f in g.fills)
        ):
            rest: dict[tuple, Need] = {}
            _missing_in_rule(w, g, x, rest, {(meta.id, fact)})
            if rest:  # what was told, as watts, is asked for in no other form
                out |= rest
                return
    for g in givers:
        if g.verb == "tries":
            slot = meta.slot if meta.plane else x
            for e in g.tries_keys.values():
                _missing_in(w, e, slot, None, out, seen)
            _, waiting = w.picked.get((g.id, slot[0].id), (None, []))
            for y in waiting[:1]:
                for t in w.k.order.tests[g.id]:
                    if y[w.k.slots[t.id]] is TELL and w.set_aside(t, y) is not True:
                        _missing_in_rule(w, t, y, out, seen)
        elif x[w.k.slots[g.id]] is not False and w.set_aside(g, x) is not True:
            _missing_in_rule(w, g, x, out, seen)
    if (
        word.ask
        and (fact not in meta.told or LISTS in seen and getattr(meta.told[fact], "open", False))
        and fact not in meta.looked
    ):
        of, behind = meta.id.split("@")[0], list(out)[before:]
        # nothing behind it is cheaper to learn
        if word.effort <= min((out[n].effort for n in behind), default=word.effort):
            for n in behind:
                del out[n]
            out[of, fact] = Need(of, fact, word.ask, word.look, word.careful, word.effort)


def values_of(w: World, n: Need) -> list[tuple]:
    """(how it is said, value) of each value of a fact of few; none where it may be more."""
    word = word_of(w, n.of, n.fact)
    if word.type[0] == "flag":
        return [("yes", True), ("no", False)]
    return (
        [(c, c) for c in word.type[1]]
        if word.type[0] == "choice" and len(word.type[1]) <= FEW
        else []
    )


def whichever(w: World, r: Rule, x: list, whatif: Rerun | None) -> Need | None:
    """The one fact that *r* waits for on *x* though it passes with each of its values: it need not
    be told.
    """
    if whatif is None or x[0].plane:
        return None
    if whatif.telling:
        # What passed either way before something was told is looked at again: it waits for nothing
        # new.
        told = whatif.telling
        with whatif.told() as before:
            need = whichever(before, r, x, whatif)
        return (
            need
            if need
            and all(
                passes_under(r, x, whatif, [*told, (need.of, need.fact, v)])
                for _, v in values_of(w, need)
            )
            else None
        )
    key = "whichever", r.id, x[0].id
    if key not in whatif.remembered:
        ns = needs(w, r, x)
        values = values_of(w, ns[0]) if len(ns) == 1 else []
        whatif.remembered[key] = (
            ns[0]
            if values
            and all(passes_under(r, x, whatif, [(ns[0].of, ns[0].fact, v)]) for _, v in values)
            else None
        )
    return whatif.remembered[key]


def _told_of(e: ex.Expr, x: list) -> bool:
    """Whether somebody told a number, a word or a size that a formula reads."""
    return any(
        isinstance(p, ex.Path)
        and p.names
        and not p.member
        and p.t[0] not in ("ref", "many")
        and isinstance(o := p.holder(x, None), list)
        and p.names[-1] in o[0].told
        for p in ex.walk(e)
    )


class Settling:
    """A question, and how many of the undecided it settles: at least and at most, by what the
    answer is.
    """

    def __init__(self, need: Need, least: int, most: int) -> None:
        self.need, self.least, self.most = need, least, most


def settling(
    w: World, whatif: Rerun, undecided: list[tuple[Rule, list]], most: int = 2
) -> list[Settling]:
    """The questions that settle the most of *undecided*, tried with every answer that a question
    with few answers may have.
    """
    asked: dict[tuple, Need] = {}
    waiting: dict[tuple, set] = {}
    alone: dict[tuple, set] = {}  # what waits for that one fact and no other
    every = {(r.id, x[0].id) for r, x in undecided}
    for r, x in undecided:
        ns = needs(w, r, x)
        for n in ns:
            asked[n.of, n.fact] = n
            waiting.setdefault((n.of, n.fact), set()).add((r.id, x[0].id))
        if len(ns) == 1:
            alone.setdefault((ns[0].of, ns[0].fact), set()).add((r.id, x[0].id))

    def settled(key: tuple) -> list[set]:
        word = word_of(w, *key)
        told = (
            word.type[1]
            if word.type[0] == "choice"
            else (True, False)
            if word.type[0] == "flag"
            else ()
        )
        out = []
        for v in told:
            with whatif.told([(*key, v)]) as run:
                out.append(
                    {
                        (rule, on)
                        for rule, on in every
                        if run.answer(w.k.rules[rule], run.things[on]) not in (TELL, REFERS)
                    }
                )
        return out or [alone.get(key, set())]

    out, left, wait = [], set(every), {k: len(fs) for k, fs in waiting.items()}
    while left and len(out) < most:
        near = sorted(
            (k for k in waiting if waiting[k] & left),
            key=lambda k: (-len(waiting[k] & left), asked[k].effort, k),
        )[:NEAR]
        tried = {k: settled(k) for k in near}
        key = max(
            near,
            key=lambda k: (sum(len(s & left) for s in tried[k]) / len(tried[k]), -asked[k].effort),
            default=None,
        )
        if key is None:
            break
        # none of these settles anything by itself: another may
        if not any(s & left for s in tried[key]):
            for k in near:
                waiting.pop(k)
            continue
        counts = [len(s) for s in tried[key]]
        out.append(Settling(asked[key], min(counts), max(counts)))
        left -= {f for f in left if 2 * sum(f in s for s in tried[key]) > len(tried[key])}
        waiting.pop(key)
    if asked and not out:  # each of them waits for more than one fact: the one that most wait for
        key = min(asked, key=lambda k: (-wait[k], asked[k].effort, k))
        out.append(Settling(asked[key], 0, wait[key]))
    return out


# ---- what could turn it --------------------------------------------------------------------------


def unless(w: World, r: Rule, x: list, whatif: Rerun | None) -> list[dict]:
    """What could turn a *fails*: an exception not proven, or a lawful default that nobody looked
    behind.
    """
    out = []
    for e in w.k.order.exceptions.get(r.id, ()):
        if w.holds(e, x) is None:
            tell = needs(w, e, x)
            if not tell:  # its own conditions are met: what would set it aside is not known
                for d in w.k.order.exceptions.get(e.id, ()):
                    tell += needs(w, d, x)
            out.append(
                {
                    "exception": e.id,
                    "source": e.section(w.k.edition, x) or "",
                    "says": e.said,
                    "tell": [n.said for n in tell],
                    "ask": [n.ask for n in tell],
                }
            )
    if whatif is not None and not x[0].plane:
        turned = turning(w, r, x, whatif)
        if turned:
            out.append(
                {
                    "assumed": [f"{f} of {t}" for t, f, _ in turned],
                    "if": [f"{f} of {t} is {show(v, unit_of(w, t, f))}" for t, f, v in turned],
                    "ask": [word_of(w, t, f).ask for t, f, _ in turned],
                }
            )
    return out


def word_of(w: World, thing: str, fact: str):
    """The word of a fact of a thing."""
    return w.k.words.kinds[w.things[thing][0].kind].words[fact]


def unit_of(w: World, thing: str, fact: str) -> str | None:
    return word_of(w, thing, fact).unit


def assumed(w: World, r: Rule, x: list) -> list[tuple]:
    """(thing, fact, value worth trying) of every lawful default under an answer that nobody has
    looked behind.
    """
    out = []
    for n in support(w, r, x).nodes.values():
        if n.kind == "fact" and n.data["origin"] == "assumed" and "looked" not in n.data:
            thing, fact = n.data["of"].split("@")[0], n.data["is"]
            word = word_of(w, thing, fact)
            for t in word.try_instead:
                out.append((thing, fact, parse_quantity(t, word.unit)[0] if word.unit else t))
    return sorted(set(out), key=lambda c: (c[0], c[1]), reverse=True)


def turning(w: World, r: Rule, x: list, whatif: Rerun) -> list[tuple]:
    """The fewest lawful defaults that, told otherwise, would let *r* pass on *x*; none if none
    would.
    """
    changes = [
        c
        for c in assumed(w, r, x)
        if w.things[c[0]][w.k.words.kinds[w.things[c[0]][0].kind].words[c[1]].slot] != c[2]
    ]
    if not changes:
        return []
    for c in changes:
        if passes_under(r, x, whatif, [c]):
            return [c]
    return changes if passes_under(r, x, whatif, changes) else []


def passes_under(r: Rule, x: list, whatif: Rerun, changes) -> bool:
    """Does *r* pass on the thing of *x* once *changes* are told?"""
    key = "passes under", r.id, x[0].id, *((t, f, repr(v)) for t, f, v in changes)
    if key not in whatif.remembered:
        with whatif.told() as w:
            before = refused(w, x)
        with whatif.told(changes) as w:
            passes = w.answer(r, w.things[x[0].id]) in (PASSES, SET_ASIDE)
            whatif.remembered[key] = passes and refused(w, x) <= before
    return whatif.remembered[key]


def refused(w: World, x: list) -> set[str]:
    """The rules that refuse to conclude on the thing of *x*: whoever must be asked has not
    answered.
    """
    y = w.things[x[0].id.split("@")[0]]
    return {
        r.id
        for r in w.k.rules.values()
        if r.verb == "refers" and r.about == y[0].kind and w.answer(r, y) == REFERS
    }


def cautions(w: World) -> list[dict]:
    """What to take care of: at which moment, in which step of the work, in the order of the
    work.
    """
    out = {}
    for r, x, a in judged(w):
        if a == WARNS:
            out.setdefault(
                r.id,
                {
                    "rule": r.id,
                    "at": str(r.d["at"]),
                    "step": "",
                    "says": str(r.d["warns"]),
                    "source": r.section(w.k.edition, x) or "",
                    "layer": r.layer,
                    "on": [],
                },
            )["on"].append(x[0].id)
    table = w.k.tables.get(MOMENTS)
    order = {row["moment"]: (n, row["step"]) for n, row in enumerate(table.rows)} if table else {}
    for c in out.values():
        # a moment that only some pack knows
        c["step"] = order[c["at"]][1] if c["at"] in order else c["at"][:1].upper() + c["at"][1:]
    return sorted(out.values(), key=lambda c: order.get(c["at"], (len(order), ""))[0])


def not_checked(w: World) -> list[dict]:
    """What no rule here looks at, for want of rules."""
    out = {}
    for r, x, a in judged(w):
        if a == LACKS or (r.verb == "lacks" and a == TELL):
            out.setdefault(
                r.id,
                {
                    "rule": r.id,
                    "says": str(r.d["lacks"]),
                    "source": r.section(w.k.edition, x) or "",
                    "on": [],
                },
            )["on"].append(x[0].id)
    return list(out.values())


def assumptions(w: World) -> list[dict]:
    """Every fact of the job that was assumed or designed rather than told."""
    out = []
    for kind, xs in w.by_kind.items():
        for x in xs:
            for word in w.k.words.kinds[kind].words.values():
                v = x[word.slot]
                if v is None or not w.k.order.givers.get((kind, word.name)):
                    continue
                _, origin, by = w.settle(kind, word.name, x)
                if origin in ("assumed", "designed"):
                    out.append(
                        {
                            "of": x[0].id,
                            "is": word.name,
                            "value": show(v, word.unit),
                            "origin": origin,
                            "by": by,
                            "source": w.k.section(by, x),
                            "looked": word.name in x[0].looked,
                        }
                    )
    return out


def disputes(w: World) -> list[dict]:
    """Facts on which two live conclusions, or a conclusion and what was told, disagree."""
    out = []
    for thing, fact in sorted(w.disputes):
        if "@" in thing:
            continue
        x = w.things[thing]
        word = w.k.words.kinds[x[0].kind].words[fact]
        says = [
            (g.id, show(x[w.k.results[g.id, fact]], word.unit))
            for g in w.k.order.givers[x[0].kind, fact]
            if g.verb == "gives" and x[w.k.slots[g.id]] is True and w.set_aside(g, x) is not True
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
    "Settling",
    "settling",
    "unless",
    "turning",
    "cautions",
    "not_checked",
    "assumptions",
    "disputes",
    "passes_under",
]

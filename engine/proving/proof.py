"""An independent proof check: does every node of a derivation graph follow from the nodes its edges
lead to?

With the chainers it shares what both read (the grammar of lines, rows of tables, words, units, the
job as told) and nothing that evaluates. Each node is recomputed from the values that the nodes
below it claim, and must have exactly the edges its rule's line reads; leaves are compared with the
job and the tables. So a graph that is accepted is right by induction, from the leaves up. Of the
wording (`text`) only what quotes a rule or a table is judged.
"""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction as F
from graphlib import CycleError, TopologicalSorter
from types import SimpleNamespace as Box

from ..basics.units import to_base
from ..language.words import as_list
from .proof_steps import At, Steps, condition, parse
from .proof_values import (
    NONE,
    NOTHING,
    SOME,
    WHOLE,
    Many,
    both,
    compare,
    either,
    find,
    inf,
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
JUDGING, FILLING = ("must", "must not", "should"), ("gives", "reckons", "assumes", "designs")
VERBS = (*JUDGING, *FILLING, "tries", "refers", "warns", "lacks")
LAYERS = {"code": "law", "manufacturer": "maker", "local": "local", "practice": "practice"}


def section_of(d, edition: str, case=None) -> str | None:
    """The section of an item in an edition; None where it is not in force. What a pack amended
    cites the pack first.

    Where sections differ by a fact, the one of its *case*; all of them where that is not known.
    """
    section, edition = (
        str(next((d[k] for k in LAYERS if k in d), "")),
        getattr(d, "edition", edition),
    )
    if isinstance(d.get("code"), dict):
        e = max((e for e in d["code"] if e <= edition), default=None)
        section = None if e is None or d["code"][e] == "gone" else str(d["code"][e])
    if "code by" in d and section and ": " in section:
        cases = {
            c: s
            for part in section.split("; ")
            for names, _, s in [part.partition(": ")]
            for c in names.split(" | ")
        }
        section = cases.get(case) or ", ".join(dict.fromkeys(cases.values()))
    return f"{d.through}, amending {section}" if section and getattr(d, "through", "") else section


def layer_of(d) -> str:
    """Who says so; a law that a pack amended is the place's own."""
    return (
        "local"
        if "code" in d and getattr(d, "through", "")
        else next((said for k, said in LAYERS.items() if k in d), "practice")
    )


class Proof(Steps):
    """The check against what is in force: rules as written, rows of tables, dated values, words."""

    def __init__(self, k) -> None:
        self.k, self.rules, self.columns = k, {i: r.d for i, r in k.rules.items()}, {}
        # (kind, fact), rule, and rule or kind
        self.givers, self.exceptions, self.picks = (
            defaultdict(dict),
            defaultdict(list),
            {},
        )
        self.rows = {
            i: [{c: F(v) if t.unit(c) else v for c, v in r.items()} for r in t.rows]
            for i, t in k.tables.items()
        }
        for i, t in k.tables.items():  # a column in which all is yes or no holds answers, not words
            answers = {
                c
                for c in t.values
                if t.type_of(c) == ("word",) and {r[c] for r in t.rows} <= {"yes", "no"}
            }
            self.columns |= {
                (i, c): ("flag",) if c in answers else t.type_of(c) for c in (*t.keys, *t.values)
            }
        for i, d in self.rules.items():
            for f in [f for v in FILLING for f in d.get(v, ())] + (
                [d["picks"]] if "tries" in d else []
            ):
                self.givers[d["about"], f][i] = d
            for t in as_list(d.get("exception to")):
                self.exceptions[t].append(i)
            if "tries" in d:
                ((fact, line),) = d["tries"].items()
                _, _, table, keys, _ = parse("x " + line, "sum")
                t, left, also = (
                    k.tables[table],
                    as_list(d.get("leaving out")),
                    as_list(d.get("also")),
                )
                tests = [
                    j
                    for j, r in self.rules.items()
                    if r["about"] == d["about"]
                    and (j in also or ("must" in r or "must not" in r) and j not in left)
                ]
                # what each row that is tried is called
                rows = {t.show(fact, r[fact]): r[fact] for r in self.rows[table]}
                self.picks[i] = self.picks[d["about"]] = Box(
                    fact=fact, table=t, keys=keys, tests=tests, rows=rows, number=bool(t.unit(fact))
                )

    def check(self, graph: dict, job) -> list[str]:
        """A sentence for each node of *graph* that does not follow from what *job* tells; none
        where all of it does.
        """
        self.things, self.faults, self.memo, self.want = (
            {i: x[0] for i, x in job.things.items()},
            [],
            {},
            set(),
        )
        self.nodes = {n["id"]: n for n in graph["nodes"]}
        have, sorter = (
            {(e["from"], e["to"], e["role"]) for e in graph["edges"]},
            TopologicalSorter(),
        )
        for a, b, _ in have:
            sorter.add(a, b)
        try:
            alone = {graph["root"], *sorter.static_order()} - self.nodes.keys()
        except CycleError as e:
            return [f"{e.args[1][0]}: it rests on itself"]
        if alone or len(self.nodes) != len(graph["nodes"]):
            return [
                f"{graph['root']}: two nodes have one name, or an edge leads to none"
                f" ({', '.join(alone)})"
            ]
        for i, n in self.nodes.items():
            try:
                self.must(i, i.split(":")[0] == n["kind"], f"a {n['kind']} by another name")
                if n["kind"] in ("fact", "cell", "value"):
                    getattr(self, n["kind"])(i, n, n["data"])
                elif n["kind"] in ("rule", "pick"):
                    getattr(self, n["kind"])(*i[5:].split("@", 1))
            except (LookupError, ValueError, TypeError, AttributeError, ArithmeticError) as e:
                self.faults.append(f"{i}: it cannot be read ({type(e).__name__}: {e})")
        if not self.faults:
            self.faults += [
                f"{i}: it belongs to nothing here"
                for i, n in self.nodes.items()
                if n["kind"] in ("step", "row") and i not in self.memo
            ]
            self.faults += [
                f"{a}: it {'rests' if (a, b, role) in self.want else 'does not rest'} on {b}"
                f" ({role})"
                for a, b, role in self.want ^ have
            ]
        return self.faults

    def must(self, node: str, so: bool, what: str) -> None:
        if not so:
            self.faults.append(f"{node}: {what}")

    def source(self, d, at, doubt: bool = False, case=None) -> dict:
        """What a node says of where it comes from."""
        said = {
            "section": section_of(d, self.k.edition, case) or "",
            "edition": self.k.edition,
            "at": str(at),
        }
        return said | ({"doubt": str(d["doubt"])} if doubt and d.get("doubt") else {})

    # ---- leaves
    def cell(self, i: str, n: dict, d: dict) -> None:
        t, column = self.k.tables[d["table"]], d["column"]
        labels = [label(t, r) for r in t.rows]
        j = [f"cell:{t.id}[{called}]/{column}" for called in labels].index(i)
        row, moving = (
            self.rows[t.id][j],
            next((k for k, (how, _) in t.keys.items() if how != "exact"), next(iter(t.keys))),
        )
        said = {
            c: text((v, v) if t.unit(c) else v, t.type_of(c), t.unit(c)) for c, v in row.items()
        }
        data = {
            "table": t.id,
            "keys": {k: said[k] for k in t.keys},
            "column": column,
            **self.source(t.d, t.lines[j], True, row.get(t.d.get("code by"))),
        }
        alike = [
            m for m, r in enumerate(t.rows) if all(r[k] == row[k] for k in t.keys if k != moving)
        ]
        shown, m = (
            [f"{labels[m]}: {t.show(column, t.rows[m][column])}" for m in alike],
            alike.index(j),
        )
        data |= ({"row before": shown[m - 1]} if m else {}) | (
            {"row after": shown[m + 1]} if m + 1 < len(alike) else {}
        )
        so = (
            n["value"] == said[column]
            and n["unit"] == (t.unit(column) or "")
            and n["text"] == f"{t.id} at {shown[m]}"
            and d == data
        )
        self.must(i, so, f"{t.id} has {shown[m]} there")

    def value(self, i: str, n: dict, d: dict) -> None:
        (v, t), item = self.k.values[i[6:]], self.k.value_items[i[6:]]
        self.must(
            i,
            n["value"] == text((F(v), F(v)), t, n["unit"]) and d == self.source(item, item.at),
            "it has another value or source",
        )

    # ---- things, and rows of them that are tried: `circuits.kiln.conductors@6 AWG`
    def word(self, x: str, name: str):
        return self.k.words.kinds[self.things[x.partition("@")[0]].kind].words[name]

    def settled(self, w) -> bool:
        """Is it a fact that rules give to whatever has it, a tried row too?"""
        givers = self.givers.get((w.kind, w.name), {})
        return bool(givers) and not any("tries" in d or "designs" in d for d in givers.values())

    def bearer(self, x: str, w) -> str:
        """The thing or tried row whose fact it is: a row has what is tried, what comes with that,
        and what rules give it.
        """
        thing, tried, _ = x.partition("@")
        return (
            x
            if tried and (self.picks[w.kind].fact in (w.name, w.comes_with) or self.settled(w))
            else thing
        )

    def told(self, x: str, w):
        """What the job tells of a thing, or None: of another thing its name, of a number a range of
        one.
        """
        thing, _, row = x.partition("@")
        meta, p = self.things[thing], self.picks.get(w.kind)
        v = meta.told.get(w.name)
        if (
            row
            and w.comes_with == p.fact
            and (p.fact not in meta.told or p.table.show(p.fact, meta.told[p.fact]) != row)
        ):
            return None
        if v is None:  # a part of one whole has no other
            kinds, link = self.k.words.kinds, meta.whole and w.type[0] == "ref" and not w.part
            return (
                NONE
                if link
                and w.name in kinds
                and any(p.part and p.type[1] == w.kind for p in kinds[w.name].words.values())
                else None
            )
        if isinstance(v, list):
            return (
                Many(tuple(y[0].id for y in list.__iter__(v)), v.open)
                if w.type[0] == "many"
                else v[0].id
            )
        return v if isinstance(v, (str, bool)) else (F(v), F(v)) if w.type[0] == "q" else NONE

    def read(self, up: str, leads: tuple, role: str):
        """A fact by the links that lead to it; None where one of them is not known."""
        x, words = leads
        for w in words:
            node, last = f"fact:{self.bearer(x, w)}/{w.name}", w is words[-1]
            v = (
                self.claimed(node, w)
                if last and w.type[0] != "many"
                else self.told(x.partition("@")[0], w)
            )
            # a whole shows in the name of its part
            if (
                last
                or v in (None, NONE)
                or not (
                    w.part
                    or w.name == "job"
                    or any(
                        p.part and p.type[1] == w.kind
                        for p in self.k.words.kinds[w.type[1]].words.values()
                    )
                )
            ):
                self.want.add((up, node, role if last else "through"))
            if last or v in (None, NONE):
                return v if last or v is None else NOTHING
            x = v

    def claimed(self, node: str, w):
        """The value a fact node claims."""
        n = self.nodes[node]
        if n["value"] in ("unknown", "none"):
            return None if n["value"] == "unknown" else NONE
        if w.type[0] == "q":
            lo, dots, hi = n["value"].partition("..")
            return tuple(
                F(to_base(F(q), n["unit"])) if q else end
                for q, end in ((lo, -inf), (hi if dots else lo, inf))
            )
        return n["value"] == "yes" if w.type[0] == "flag" else n["value"]

    def fact(self, i: str, n: dict, d: dict) -> None:
        x, w = d["of"], self.word(d["of"], d["is"])
        meta, row, p = self.things[x.partition("@")[0]], x.partition("@")[2], self.picks.get(w.kind)
        v, by, roles = self.told(x, w), None, {}
        origin = "told" if v is not None and w.name in meta.told else "unknown"
        self.must(i, i == f"fact:{self.bearer(x, w)}/{w.name}", "it is no fact of this thing")
        if row and w.name == p.fact:
            v, origin, by = (p.rows[row],) * 2 if p.number else p.rows[row], "tried", d["by"]
            self.must(i, w.name in self.rules[by].get("tries", ()), f"{by} does not try it")
        elif (w.kind, w.name) in self.givers and (not row or self.settled(w)):
            v, origin, by, roles = self.settle(x, w, v)
        self.want |= {
            (i, f"{'pick' if role == 'picked by' else 'rule'}:{g}@{x}", role)
            for g, role in roles.items()
        }
        data = {"of": x, "is": w.name, "origin": origin} | ({"by": by} if by else {})
        if w.name in meta.written and origin in ("told", "assumed", "disputed"):
            data |= {"as written": meta.written[w.name][0], "at": str(meta.written[w.name][2])}
        data |= {"looked": "and found no marking"} if w.name in meta.looked else {}
        data |= {"open": not isinstance(v, Many) or v.open} if w.type[0] == "many" else {}
        so = n["value"] == text(v, w.type, n["unit"]) and n["unit"] == (w.unit or "") and d == data
        self.must(i, so, f"it is {origin}" + (f" by {by}" if by else ""))

    def settle(self, x: str, w, told) -> tuple:
        """(value, origin, rule, role of each giver) of a fact that rules give."""
        givers, live, open_, fallback, roles = self.givers[w.kind, w.name], [], [], None, {}
        picks = [g for g, d in givers.items() if "tries" in d]
        if picks and told is None:
            v, others = (
                self.pick(picks[0], x),
                {g: "not given by" for g in givers if g not in picks},
            )
            return (
                v,
                "unknown" if v is None else "picked",
                picks[0],
                others | {picks[0]: "picked by"},
            )
        for g, d in givers.items():
            # only what is given can dispute what is told
            if g in picks or told is not None and "gives" not in d:
                continue
            r, roles[g], rank = (
                self.rule(g, x),
                "not given by",
                next(j for j, verb in enumerate(FILLING) if verb in d),
            )
            v, permits = (
                r.fills.get(w.name),
                any(t in self.rules for t in as_list(d.get("exception to"))),
            )
            if r.applies is False or r.aside is True:
                continue
            if rank and r.applies and v is not None and (fallback is None or rank < fallback[0]):
                fallback = rank, v, g
            elif not rank and (r.holds or r.applies and not permits):
                live.append((v, g))
            elif not rank and not permits:
                open_.append(v)
        known = list(dict.fromkeys(v for v, _ in live if v is not None))
        if (
            known[1:]
            if told is None
            else any(
                compare("=", told, v) is False if isinstance(told, tuple) else told != v
                for v in known
            )
        ):
            return (
                None,
                "disputed",
                None,
                {
                    g: "given by" if self.rule(g, x).answer == "holds" else "not given by"
                    for g in givers
                },
            )
        if told is not None:
            return told, "told", None, roles
        if known and all(v == known[0] for v in [v for v, _ in live] + open_):
            return known[0], "derived", live[0][1], roles | {live[0][1]: "given by"}
        if not live and not open_ and fallback:
            return (
                fallback[1],
                ("", "derived", "assumed", "designed")[fallback[0]],
                fallback[2],
                roles | {fallback[2]: "given by"},
            )
        return None, "unknown", None, roles

    # ---- picks and rules
    def pick(self, i: str, x: str):
        """The value a pick takes: the first row that passes every test; none where none does."""
        node, d, p, first, waiting = f"pick:{i}@{x}", self.rules[i], self.picks[i], None, False
        if node in self.memo:
            return self.memo[node]
        keys = {k: self.operand(node, e, At(i, x, d["about"]), "keys", "by") for k, e in p.keys}
        known = not any(v is SOME or v in (None, WHOLE, NONE, NOTHING) for v in keys.values())
        for r in find(p.table, self.rows[p.table.id], keys) if known else ():
            if r and first is None:
                y = f"{x}@{p.table.show(p.fact, r[p.fact])}"
                self.want.add((node, f"row:{y}?{i}", "tries"))
                passes = self.row(f"row:{y}?{i}", y, p, r[p.fact])
                first, waiting = r[p.fact] if passes else None, waiting or passes is None
        v = (
            None
            if not known or waiting
            else NONE
            if first is None
            else (first, first)
            if p.number
            else first
        )
        self.memo[node], n, shown = (
            v,
            self.nodes[node],
            "unknown" if v is None else "none" if v == NONE else p.table.show(p.fact, first),
        )
        self.must(
            node,
            n["value"] == shown and n["unit"] == "" and n["text"].startswith(d["says"]),
            f"it takes {shown}",
        )
        self.must(
            node,
            n["data"]
            == {"rule": i, "on": x, "layer": layer_of(d)} | self.source(d, self.k.rules[i].at),
            "it comes from elsewhere",
        )
        return v

    def row(self, node: str, y: str, p: Box, v):
        """Does a tried row pass: yes, no, or None where a test cannot tell."""
        n, d, out = self.nodes[node], self.nodes[node]["data"], True
        self.memo[node] = None
        self.must(
            node,
            list(d["tests"]) == p.tests and set(d) == {"tests", "answer"},
            "it is tested by other rules",
        )
        for i, said in d["tests"].items():
            # a row that fails needs no more than what it fails
            if d["answer"] != FAILS or said not in (
                PASSES,
                OFF,
            ):
                self.want.add(
                    (node, f"rule:{i}@{y}", "does not test" if said == OFF else "tested by")
                )
                answer = self.rule(i, y).answer
                self.must(node, answer == said, f"{i} does not answer {said}")
                out = (
                    out
                    if answer in (PASSES, OFF, SET_ASIDE) or out is False
                    else None
                    if answer == TELL
                    else False
                )
        so = d["answer"] == (PASSES if out else TELL if out is None else FAILS)
        so = so and n["value"] == text(
            (v, v) if p.number else v, p.table.type_of(p.fact), n["unit"]
        )
        self.must(node, so, f"it does not follow that it {d['answer']}")
        return out

    def rule(self, i: str, x: str) -> Box:
        """What a rule comes to on a thing, from the nodes its lines lead to."""
        node, d, own, fills = f"rule:{i}@{x}", self.rules[i], OFF, {}
        if node in self.memo:
            return self.memo[node]
        n, c, verb = (
            self.nodes[node],
            At(i, x, d["about"]),
            next((v for v in VERBS if v in d), "exception"),
        )
        applies = both(
            [
                self.operand(node, condition(w), c, f"when.{j}", "when")
                for j, w in enumerate(as_list(d.get("when")))
            ]
        )
        met = True
        if verb in JUDGING and applies is not False:
            v = self.operand(node, condition(d[verb]), c, verb, verb)
            v = opposite(v) if verb == "must not" else v
            met = False if v == NOTHING else v
            own = (
                OFF
                if v == NOTHING
                else (
                    PASSES
                    if v is True
                    else TELL
                    if None in (v, applies)
                    else ADVICE
                    if verb == "should"
                    else FAILS
                )
            )
        case = (
            self.operand(node, parse(d["code by"], "sum"), c, "code by", "cited by")
            if "code by" in d
            else None
        )
        for f, line in d[verb].items() if verb in FILLING and applies is not False else ():
            t = self.word(x, f).type
            plain = line in {"flag": ("yes", "no"), "choice": t[-1]}.get(t[0], ())
            e = (
                ("word", {"yes": True, "no": False}.get(line, line))
                if plain
                else parse(line, "cond" if t[0] == "flag" else "sum")
            )
            v = self.operand(node, e, c, f"{verb}.{f}", f"{verb} {f}")
            fills[f] = (
                None
                if v in (SOME, WHOLE) or v == NOTHING and t[0] != "row"
                else NONE
                if v == NOTHING
                else v
            )
        against = {e: self.rule(e, x) for e in self.exceptions[i]}
        self.want |= {(node, f"rule:{e}@{x}", "exception") for e in against}
        aside, holds = (
            either([r.holds for r in against.values()]),
            both([applies, met, *(opposite(r.holds) for r in against.values())]),
        )
        if verb in JUDGING:  # a bare permission is not announced for what passes anyway
            bare = not any(v in self.rules[e] for e, r in against.items() if r.holds for v in VERBS)
            answer = SET_ASIDE if aside and own != OFF and not (bare and own == PASSES) else own
        else:
            so = {"refers": "refers", "lacks": "not checked", "warns": "warns"}.get(
                verb, "holds" if aside is False else TELL
            )
            answer = (
                OFF
                if applies is False
                else SET_ASIDE
                if aside
                else so
                if applies or verb == "warns"
                else TELL
            )
        data = {
            "rule": i,
            "on": x,
            "answer": answer,
            "verb": verb,
            "layer": layer_of(d),
            **self.source(d, self.k.rules[i].at, True, case if isinstance(case, str) else None),
        }
        data |= {"own answer": own} if verb in JUDGING else {}
        data |= (
            {
                "gives": {
                    f: text(v, self.word(x, f).type, self.word(x, f).unit) for f, v in fills.items()
                }
            }
            if fills
            else {}
        )
        so = (
            n["data"] == data
            and n["value"] == answer
            and n["unit"] == ""
            and n["text"] == d["says"]
        )
        self.must(node, so, f"it {answer}, as {data['section']} has it")
        self.memo[node] = Box(applies=applies, fills=fills, aside=aside, holds=holds, answer=answer)
        return self.memo[node]

"""An independent proof check: does every node of a derivation graph follow from the nodes its edges lead to?

It shares no code with what builds the graph: it reads the raw items of the packs and the raw job, with amounts, tables,
a parser and three-valued answers of its own (proof_reading, proof_lines, proof_steps). Each node is
recomputed from the values that the nodes below it claim, and must have exactly the edges its line reads; leaves are
compared with the job and the CSV files. So a graph that is accepted is right by induction, from the leaves up. The wording (`text`) is not judged.
"""

from __future__ import annotations

import os
from functools import lru_cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path
from types import SimpleNamespace as Box

from .proof_lines import both, compare, condition, either, filling, opposite, parse
from .proof_reading import NONE, NOTHING, SOME, Many, Table, TableSource, Things, Words, as_list, dated, layer, read, section_of
from .proof_steps import At, Steps, cell_of
from .reading import read_yaml

PASSES, FAILS, TELL, ADVICE, OFF, SET_ASIDE = "passes", "fails", "cannot tell", "advice", "does not apply", "exception applies"
JUDGING, FILLING = ("must", "must not", "should"), ("gives", "reckons", "assumes", "designs")
VERBS = (*JUDGING, *FILLING, "tries", "refers", "warns", "lacks")


class Proof:
    """What is in force, prepared once from raw items: rules and values by name, tables with their files, `words:` bodies."""

    def __init__(self, rules, tables, values, words, edition: str) -> None:
        self.rules = {i: rules[i] for i in sorted(rules) if section_of(rules[i], edition) is not None}
        self.sources, self.values, self.words, self.edition, self.jobs, self.tried = tables, values, Words(words), edition, {}, {}
        self.givers, self.exceptions, self.picks = {}, {}, {}
        for i, d in self.rules.items():
            facts = [f for v in FILLING for f in d.get(v, ())] + ([d["picks"]] if "tries" in d else [])
            for f in facts:
                self.givers.setdefault((d["about"], f), []).append(i)
            for t in as_list(d.get("exception to")):
                self.exceptions.setdefault(t, []).append(i)
            if "tries" in d:
                self.picks[d["about"]] = next(iter(d["tries"]))

    @lru_cache(maxsize=None)
    def tests(self, p: str) -> list:
        """The rules that test what a pick tries."""
        d = self.rules[p]
        left, also = as_list(d.get("leaving out")), as_list(d.get("also"))
        return [i for i, r in self.rules.items() if r["about"] == d["about"] and (("must" in r or "must not" in r) and i not in left or i in also)]

    @lru_cache(maxsize=None)
    def table(self, name: str) -> Table:
        return Table(self.sources[name])

    def check(self, graph: dict, job) -> list[str]:
        """What does not follow in *graph*; nothing where all of it does. Without a *job* what it calls told is taken on trust."""
        if job is None:
            return _Judge(self, graph, Things.trusted(self.words, graph)).faults
        if id(job) not in self.jobs:
            self.jobs[id(job)] = job, Things(self.words, self.table, job)
        return _Judge(self, graph, self.jobs[id(job)][1]).faults


def sources(k) -> dict:
    """The raw items behind a loaded Knowledge, for `check(graph, job=..., **sources(k))`: words and tables are read again."""
    kb = Path(os.environ.get("WHYWIRE_KB") or Path(__file__).resolve().parents[1] / "kb")

    def file(at) -> Path:
        return kb / Path(at[0]).relative_to("kb") if at[0].startswith("kb/") else Path(at[0])

    places = {w.at[0]: w.at for kind in k.words.kinds.values() for w in kind.words.values()}
    words = [read_yaml(file(at).read_text("utf-8-sig"), at[0])["words"] for _, at in sorted(places.items())]
    return {"rules": {i: r.d for i, r in k.rules.items()}, "tables": {i: TableSource(t.d, file(t.at).parent / str(t.d["file"])) for i, t in k.tables.items()},
            "values": k.value_items, "words": words, "edition": k.edition}


def check(graph: dict, rules, tables, values, edition: str, job, words) -> list[str]:
    """One sentence for each node that does not follow: from raw rules, tables, dated values and words, and the raw job."""
    return Proof(rules, tables, values, words, edition).check(graph, job)


class _Judge(Steps):
    """One graph: every node recomputed, every edge that it needs noted in `want`."""

    def __init__(self, book: Proof, graph: dict, things: Things) -> None:
        self.book, self.words, self.things, self.faults, self.memo, self.visited = book, book.words, things, [], {}, set()
        self.nodes = {n["id"]: n for n in graph["nodes"]}
        self.out, self.want = {i: set() for i in self.nodes}, {i: set() for i in self.nodes}
        if len(self.nodes) != len(graph["nodes"]) or graph["root"] not in self.nodes:
            self.faults.append(f"{graph['root']}: the root is missing, or two nodes have one name")
        for e in graph["edges"]:
            if e["from"] not in self.nodes or e["to"] not in self.nodes:
                self.faults.append(f"{e['from']}: an edge leads to {e['to']}, and one of them is not there")
            else:
                self.out[e["from"]].add((e["to"], e["role"]))
        try:
            list(TopologicalSorter({a: {b for b, _ in bs} for a, bs in self.out.items()}).static_order())
        except CycleError as e:
            self.faults.append(f"{e.args[1][0]}: it rests on itself")
        for i, n in self.nodes.items() if not self.faults else ():
            kind = i.split(":", 1)[0]
            try:
                self.must(i, kind == n["kind"], f"a {n['kind']} by another name")
                if kind in ("fact", "cell", "value"):
                    getattr(self, kind)(i, n, n["data"])
                elif kind in ("rule", "pick"):
                    rule, x = i[5:].split("@", 1)
                    getattr(self, kind)(rule, x)
            except (KeyError, ValueError, TypeError, AttributeError, IndexError, StopIteration, ZeroDivisionError) as e:
                self.faults.append(f"{i}: it cannot be read ({type(e).__name__}: {e})")
        for i in self.nodes if not self.faults else ():
            self.must(i, i.split(":", 1)[0] not in ("step", "row") or i in self.visited, "it belongs to nothing in this graph")
            for to, role in self.want[i] ^ self.out[i]:
                self.faults.append(f"{i}: it {'rests' if (to, role) in self.want[i] else 'does not rest'} on {to} ({role})")

    def cell(self, i: str, n: dict, d: dict) -> None:
        t = self.book.table(d["table"])
        keys = {k: read(v, t.unit(k))[0] if t.unit(k) else v for k, v in d["keys"].items()}
        row = next(r for r in t.rows if all(r[k] == v for k, v in keys.items()))
        self.must(i, set(keys) == set(t.how) and i == f"cell:{t.id}[{t.name(row)}]/{d['column']}", "it is another cell of the table")
        self.same(i, n["value"], n["unit"], *cell_of([row], d["column"], t))
        self.must(i, n["unit"] == (t.unit(d["column"]) or "") and d["edition"] == self.book.edition and d["section"] == section_of(t.d, d["edition"]),
                  "its unit, edition or section is another")
        beside = dict(zip(("row before", "row after"), t.neighbours(row)))
        self.must(i, all(d.get(k) == (r and f"{t.name(r)}: {t.show(d['column'], r[d['column']])}") for k, r in beside.items()), "its neighbours are others")
        at = f"{t.file}:{t.lines[next(j for j, r in enumerate(t.rows) if r is row)]}:1"
        self.must(i, d["at"].rsplit("/", 1)[-1] == at and d.get("doubt", "") == str(t.d.get("doubt", "")), f"it stands at {at}, with the doubt told there")

    def value(self, i: str, n: dict, d: dict) -> tuple:
        item = self.book.values[i[6:]]
        v, t = dated(item, self.book.edition)
        self.same(i, n["value"], n["unit"], v, t)
        self.must(i, d["edition"] == self.book.edition and d["section"] == (section_of(item, d["edition"]) or "") and d["at"] == str(item.at), "it comes from elsewhere")
        return v, t

    # ---- facts
    def fact(self, i: str, n: dict, d: dict) -> None:
        x, name, (thing, row) = d["of"], d["is"], self.split(d["of"])
        t, w, givers = self.things.all[thing], self.words.kinds[self.kind(x)][name], self.givers(self.kind(x), name)
        pick, told = self.book.picks.get(t.kind), t.cell.get(name) if name in t.told else None
        if row is not None and w.comes == pick and not (pick in t.told and self.tried(t.kind)[row] == t.cell[pick]):
            told = None
        v, origin, by = told if name in t.told else t.cell.get(name), "unknown" if told is None else "told", None
        roles: dict = {}
        self.must(i, i == f"fact:{x}/{name}" and (row is None or self.own(x, name) or w.comes == pick), "it is no fact of this thing")
        if row is not None and name == pick:
            v, origin, by = self.tried(t.kind)[row], "tried", d["by"]
            self.must(i, pick in self.book.rules[by].get("tries", ()), f"{by} does not try it")
        elif givers and (row is None or self.own(x, name)):
            v, origin, by, roles = self.settle(x, name, told, givers)
        for g, role in roles.items():
            self.edge(i, f"{'pick' if role == 'picked by' else 'rule'}:{g}@{x}", role)
        self.same(i, n["value"], n["unit"], v, w.type)
        written = t.written.get(name) if origin in ("told", "assumed", "disputed") else None
        data = {"of": x, "is": name, "origin": origin, "by": by, "as written": written and written[0], "at": written and written[1],
                "looked": "and found no marking" if name in t.looked else None, "open": (not isinstance(v, Many) or v.open) if w.type[0] == "many" else None}
        self.must(i, n["unit"] == w.unit and d == {k: v for k, v in data.items() if v is not None}, f"it is {origin}" + (f" by {by}" if by else ""))

    def settle(self, x: str, name: str, told, givers: dict) -> tuple:
        """(value, origin, rule, role of each giver) of a fact that rules give."""
        live, open_, fallback, roles = [], [], None, {}
        for g, d in givers.items():
            if "tries" in d:
                if told is None:
                    v = self.pick(g, x)
                    return v, "unknown" if v is None else "picked", g, {h: "not given by" for h, o in givers.items() if "tries" not in o} | {g: "picked by"}
            elif told is None or "gives" in d:
                r, roles[g] = self.rule(g, x), "not given by"
                v, rank = r.fills.get(name), next(i for i, verb in enumerate(FILLING) if verb in d)
                if r.applies is False or r.aside is True:
                    continue
                if rank:
                    fallback = (rank, v, g) if r.applies and v is not None and (fallback is None or rank < fallback[0]) else fallback
                elif r.holds or (r.applies and not self.sets_aside(d)):
                    live.append((v, g))
                elif not self.sets_aside(d):
                    open_.append(v)
        known = list(dict.fromkeys(v for v, _ in live if v is not None))
        apart = [v for v in known if (compare("=", told, v) is False if isinstance(told, tuple) else told != v)] if told is not None else known[1:]
        if apart:
            return None, "disputed", None, {g: "given by" if self.rule(g, x).answer == "holds" else "not given by" for g in givers}
        if told is not None:
            return told, "told", None, roles
        if known and all(v == known[0] for v in [v for v, _ in live] + open_):
            return known[0], "derived", live[0][1], roles | {live[0][1]: "given by"}
        if not live and not open_ and fallback:
            return fallback[1], ("", "derived", "assumed", "designed")[fallback[0]], fallback[2], roles | {fallback[2]: "given by"}
        return None, "unknown", None, roles

    def sets_aside(self, d) -> bool:
        return any(t in self.book.rules for t in as_list(d.get("exception to")))

    # ---- picks
    def rows(self, p: str) -> tuple:
        """(fact, table, keys) of what a pick tries."""
        (name, text), = self.book.rules[p]["tries"].items()
        look = parse("x " + text, False)
        return name, self.book.table(look[2]), look[3]

    def tried(self, kind: str) -> dict:
        """What the rows that are tried of a kind are called: label to value."""
        if kind not in self.book.tried:
            name, t, _ = self.rows(next(p for p, d in self.book.rules.items() if "tries" in d and d["about"] == kind))
            self.book.tried[kind] = {t.show(name, r[name]): (r[name],) * 2 if t.unit(name) else r[name] for r in t.rows}
        return self.book.tried[kind]

    def pick(self, p: str, x: str):
        """The value a pick takes: the first row that passes every test."""
        node, d, (name, t, look) = f"pick:{p}@{x}", self.book.rules[p], self.rows(p)
        if node in self.memo:
            return self.memo[node]
        c = At(p, x, d["about"], None, None)
        keys = {k: self.operand(node, e, c, "keys", "by")[0] for k, e in look}
        known = not any(v is None or v is SOME or isinstance(v, str) and v in (NONE, NOTHING) for v in keys.values())
        tests = self.book.tests(p)
        first, waiting = None, False
        for r in t.find(keys) if known else ():
            if r and first is None:
                row = f"row:{x}@{t.show(name, r[name])}?{p}"
                self.edge(node, row, "tries")
                passes = self.row(row, f"{x}@{t.show(name, r[name])}", tests, t, name, r[name])
                first, waiting = (r[name] if passes else None), waiting or passes is None
        v = None if not known or waiting else NONE if first is None else (first, first) if t.unit(name) else first
        self.memo[node] = v
        n, s = self.nodes[node], section_of(d, self.book.edition) or ""
        self.must(node, n["value"] == ("unknown" if v is None else "none" if v == NONE else t.show(name, first)) and n["unit"] == "", "another row is the first that passes")
        self.must(node, n["data"] == {"rule": p, "on": x, "section": s, "edition": self.book.edition, "layer": layer(d), "at": str(d.at)}, "it comes from elsewhere")
        return v

    def row(self, node: str, y: str, tests: list, t: Table, name: str, v):
        """Does a tried row pass: yes, no, or None where a test cannot tell."""
        n, d, out = self.nodes[node], self.nodes[node]["data"], True
        self.visited.add(node)
        self.must(node, list(d["tests"]) == tests and set(d) == {"tests", "answer"}, "it is tested by other rules")
        for i, said in d["tests"].items():
            if d["answer"] != FAILS or said not in (PASSES, OFF):
                self.edge(node, f"rule:{i}@{y}", "does not test" if said == OFF else "tested by")
                r = self.rule(i, y)
                self.must(node, r.answer == said, f"{i} does not answer {said}")
                out = out if r.answer in (PASSES, OFF, SET_ASIDE) or out is False else None if r.answer == TELL else False
        self.must(node, d["answer"] == (PASSES if out else TELL if out is None else FAILS), f"it does not follow that it {d['answer']}")
        self.same(node, n["value"], n["unit"], *cell_of([{name: v}], name, t))
        return out

    # ---- rules
    def rule(self, i: str, x: str) -> Box:
        """What a rule comes to on a thing, from the nodes its lines lead to."""
        node, d = f"rule:{i}@{x}", self.book.rules[i]
        if node in self.memo:
            return self.memo[node]
        r = self.memo[node] = Box(applies=None, own=OFF, fills={}, aside=None, holds=None, answer=TELL)
        c, words = At(i, x, d["about"], None, None), self.words.kinds[d["about"]]
        verb = next((v for v in VERBS if v in d), "exception")
        r.applies = both([self.operand(node, condition(w), c, f"when.{j}", "when")[0] for j, w in enumerate(as_list(d.get("when")))])
        if verb in JUDGING and r.applies is not False:
            v, _ = self.operand(node, condition(d[verb]), c, verb, verb)
            v = opposite(v) if verb == "must not" else v
            r.own = OFF if v == NOTHING else PASSES if v is True else TELL if v is None or r.applies is None else ADVICE if verb == "should" else FAILS
        for f, text in d[verb].items() if verb in FILLING and r.applies is not False else ():
            w = words[f]
            v, _ = self.operand(node, filling(str(text), w.type), c, f"{verb}.{f}", f"{verb} {f}")
            unknown = v is SOME or v == SOME and self.nodes[node]["data"].get("gives", {}).get(f) == "unknown"   # "0 or more" may be said either way
            r.fills[f] = None if unknown or v == NOTHING and w.type[0] != "row" else NONE if v == NOTHING else v
        against = [self.rule(e, x) for e in self.book.exceptions.get(i, ())]
        for e in self.book.exceptions.get(i, ()):
            self.edge(node, f"rule:{e}@{x}", "exception")
        r.aside, r.holds = either([e.holds for e in against]), both([r.applies, *(opposite(e.holds) for e in against)])
        if verb in JUDGING:
            by = [e for e, a in zip(self.book.exceptions.get(i, ()), against) if a.holds]   # a bare permission is not announced for what passes anyway
            bare = not any(v in self.book.rules[e] for e in by for v in VERBS)
            r.answer = OFF if r.own == OFF else SET_ASIDE if r.aside and not (bare and r.own == PASSES) else r.own
        else:
            so = {"refers": "refers", "lacks": "not checked"}.get(verb, "holds" if r.aside is False else TELL)
            r.answer = OFF if r.applies is False else SET_ASIDE if r.aside else "warns" if verb == "warns" else so if r.applies else TELL
        n, said = self.nodes[node], dict(self.nodes[node]["data"])
        for f, text in said.pop("gives", {}).items():
            self.same(node, text, words[f].unit, r.fills[f], words[f].type, f)
        data = {"rule": i, "on": x, "answer": r.answer, "verb": verb, "layer": layer(d), "section": section_of(d, self.book.edition), "edition": self.book.edition, "at": str(d.at)}
        data |= {"own answer": r.own} if verb in JUDGING else {}
        data |= {"doubt": str(d["doubt"])} if d.get("doubt") else {}
        self.must(node, said == data and n["value"] == r.answer and n["unit"] == "" and len(n["data"].get("gives", {})) == len(r.fills), f"it {r.answer}, as {data['section']} has it")
        return r


__all__ = ["Proof", "TableSource", "check", "sources"]

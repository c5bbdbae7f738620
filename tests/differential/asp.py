"""A restricted class of knowledge bases, drawn at random, and what they mean as a logic program.

The class: whole numbers (never less than nothing), choices, yes/no facts and sizes, told or not; links and optional
parts; totals and counts over lists; all four ways to fill a fact; requirements; exceptions and exceptions to them; one
pick over a table. The meaning is written a second time here, as rules with real arithmetic for clingo, from
kb/README.md and not from the engine: no line is parsed, no expression evaluated, no order found.

A piece of a formula is a tuple:

    ("n", 5) · ("p", (link, ...), fact) · ("+" "-" "×" "smaller" "larger", a, b) · ("total", list, fact, where) ·
    ("count", list, where) · ("cap",) the look-up of a wire's own size and metal
    ("cmp", op, a, b) · ("flag", path) · ("not", c) · ("is", path, negated, words) · ("any", (c, ...)) ·
    ("none", part, negated) · ("quant", fn, list, where) · ("gauge", path, size, "smaller" or "larger")

Inside a list a path is ("m", fact): a fact of the member.
"""

from __future__ import annotations

import random

import random_programs as rp

from whywire.engine.basics.errors import Collector
from whywire.engine.language.knowledge import Knowledge, build
from whywire.engine.language.words import Words
from whywire.engine.running.job import mapping_of

SIZES, METALS, COLOURS = rp.SIZES, rp.METALS, rp.CHOICES
LINKS = {
    "run": {
        "load": "load",
        "fixture": "fixture",
        "wire": "wire",
        "panel": "panel",
        "neighbour": "run",
    },
    "load": {"run": "run"},
    "fixture": {"run": "run"},
    "wire": {"run": "run"},
    "piece": {"run": "run"},
    "panel": {},
}
LIST, MEMBER = "pieces", "piece"
FALLBACKS = ("reckons", "assumes", "designs")


class Program:
    """One program of the class: rules as data, as lines for the loader, and as a logic program."""

    def __init__(self, seed: int) -> None:
        rng = self.rng = random.Random(f"asp {seed}")
        self.facts: dict[str, dict[str, str]] = {k: {} for k in LINKS}
        for kind in LINKS:
            for c in "abcd"[: rng.randint(2, 4)]:
                t = rng.choice(["number", "number", "colour", "so"])
                self.facts[kind][f"{t} {kind[0]}{c}"] = t
        self.facts["wire"] |= {
            "metal": "metal",
            "size": "size",
            "least size": "size",
            "cap": "number",
        }
        self.table = [
            (s, m, 12 + 5 * i - 3 * (m == "aluminum") + rng.choice([0, 0, 1]))
            for m in METALS
            for i, s in enumerate(SIZES)
            if (s, m) != ("14 AWG", "aluminum")
        ]
        self.given: dict[tuple, int] = {}
        self.rules: list[dict] = []  # id, about, verb, when, fact, value, test, exception to
        self.pick = rng.random() < 0.7
        self._draw()

    # ---- drawing
    def path(self, kind: str, want: str, late: int):
        for _ in range(6):
            k, links = kind, []
            while self.rng.random() < 0.45 and len(links) < 3 and LINKS[k]:
                link = self.rng.choice(list(LINKS[k]))
                links.append(link)
                k = LINKS[k][link]
            fits = [
                f
                for f, t in self.facts[k].items()
                if t == want and self.given.get((k, f), -1) < late
            ]
            if fits:
                return ("p", tuple(links), self.rng.choice(fits))
        return None

    def member(self, want: str, late: int):
        fits = [
            f
            for f, t in self.facts[MEMBER].items()
            if t == want and self.given.get((MEMBER, f), -1) < late
        ]
        return ("m", self.rng.choice(fits)) if fits else None

    def where(self, late: int):
        how = self.rng.random()
        if how < 0.35 and (p := self.member("so", late)):
            return ("flag", p)
        if how < 0.65 and (p := self.member("colour", late)):
            return (
                "is",
                p,
                self.rng.random() < 0.3,
                tuple(self.rng.sample(COLOURS, self.rng.choice([1, 2]))),
            )
        if p := self.member("number", late):
            return (
                "cmp",
                self.rng.choice([">=", "<", ">", "<="]),
                p,
                ("n", self.rng.randint(0, 12)),
            )
        return None

    def sum(self, kind: str, late: int, depth: int = 0, minus: bool = False):
        rng, how = self.rng, self.rng.random()
        p = self.path(kind, "number", late) or ("n", rng.randint(0, 12))
        if depth > 1 or how < 0.4:
            return p
        if how < 0.5:
            return ("n", rng.randint(0, 12))
        if how < 0.6:
            return ("×", p, self.path(kind, "number", late) or ("n", rng.randint(1, 3)))
        if how < 0.8 or kind != "run":
            op = rng.choice(["+", "+", "smaller", "larger", *(["-"] if minus else [])])
            return (op, self.sum(kind, late, depth + 1), self.sum(kind, late, depth + 1))
        where = self.where(late) if rng.random() < 0.6 else None
        m = self.member("number", late)
        return ("total", m, where) if m and rng.random() < 0.7 else ("count", where)

    def test(self, kind: str, late: int, depth: int = 0):
        rng = self.rng
        for _ in range(8):
            how = rng.random()
            if how < 0.25 and (p := self.path(kind, "colour", late)):
                return ("is", p, rng.random() < 0.3, tuple(rng.sample(COLOURS, rng.choice([1, 2]))))
            if how < 0.45 and (p := self.path(kind, "so", late)):
                return rng.choice([("flag", p), ("not", ("flag", p))])
            if how < 0.75:
                return (
                    "cmp",
                    rng.choice([">=", "<=", ">", "<", "=", "!="]),
                    self.sum(kind, late, 0, True),
                    self.sum(kind, late, 1, True),
                )
            if how < 0.80 and (p := self.path(kind, "size", late)):
                return ("gauge", p, rng.choice(SIZES), rng.choice(["smaller", "larger"]))
            if how < 0.84 and kind == "run":
                return ("none", "fixture", rng.random() < 0.5)
            if how < 0.92 and kind == "run" and (w := self.where(late)):
                return ("quant", rng.choice(["every", "some", "no"]), w)
            if depth == 0 and how >= 0.92:
                return ("any", (self.test(kind, late, 1), self.test(kind, late, 1)))
        return ("cmp", ">=", ("n", 1), ("n", 0))

    def _draw(self) -> None:
        rng = self.rng
        cells = [(k, f) for k in self.facts for f in self.facts[k] if k != "wire"]
        rng.shuffle(cells)
        cells = cells[: rng.randint(3, 7)]
        self.given.update({cell: 2 * i for i, cell in enumerate(cells)})
        if self.pick:
            self.given["wire", "least size"] = at = 2 * rng.randint(0, len(cells))
        late: dict[str, int] = {}

        def rule(id_: str, about: str, verb: str, reads: int, **more) -> None:
            late[id_] = reads
            when = [self.test(about, reads) for _ in range(rng.choice([0, 1, 1, 2]))]
            self.rules.append(
                {
                    "id": id_,
                    "about": about,
                    "verb": verb,
                    "when": when,
                    "exception to": [],
                    "pure": verb == "exception",
                    **more,
                }
            )

        for i, (kind, fact) in enumerate(cells):
            for j in range(rng.choice([1, 1, 2, 3])):
                verb = rng.choice(["gives", "gives", "reckons", "assumes", "designs"])
                t = self.facts[kind][fact]
                value = {
                    "number": lambda: self.sum(kind, 2 * i),
                    "colour": lambda: ("word", rng.choice(COLOURS)),
                    "so": lambda: (
                        self.test(kind, 2 * i)
                        if rng.random() < 0.5
                        else ("word", rng.choice(["yes", "no"]))
                    ),
                }[t]()
                if t == "so" and value[0] in ("any", "none", "quant"):
                    value = ("word", "yes")
                rule(f"fill-{'abcdefghi'[i]}-{'abc'[j]}", kind, verb, 2 * i, fact=fact, value=value)
        targets = [(r["id"], r["about"]) for r in self.rules]
        if self.pick:
            self.rules.append(
                {
                    "id": "cap-of-wire",
                    "about": "wire",
                    "verb": "gives",
                    "when": [],
                    "exception to": [],
                    "pure": False,
                    "fact": "cap",
                    "value": ("cap",),
                }
            )
            for j in range(rng.randint(1, 3)):
                test = rng.choice(
                    [
                        ("cmp", ">=", ("p", (), "cap"), self.sum("wire", at, 1)),
                        self.test("wire", at),
                        ("gauge", ("p", (), "size"), rng.choice(SIZES[:3]), "larger"),
                    ]
                )
                rule(
                    f"test-{'abc'[j]}",
                    "wire",
                    rng.choice(["must", "must", "must not"]),
                    at,
                    test=test,
                )
                targets.append((f"test-{'abc'[j]}", "wire"))
            self.given["wire", "cap"] = 99
        for j in range(rng.randint(1, 4)):
            kind = rng.choice([k for k in self.facts if k != "wire"])
            rule(
                f"judge-{'abcd'[j]}",
                kind,
                rng.choice(["must", "must not", "should"]),
                50,
                test=self.test(kind, 50),
            )
            targets.append((f"judge-{'abcd'[j]}", kind))
        for j in range(rng.randint(0, 4)):
            of, about = rng.choice(targets)
            rule(f"except-{'abcd'[j]}", about, "exception", late[of])
            self.rules[-1]["exception to"] = [of]
            targets.append((f"except-{'abcd'[j]}", about))

    # ---- as lines
    def text(self, e) -> str:
        op, t = e[0], self.text
        if op in ("n", "word"):
            return str(e[1])
        if op == "p":
            return " of ".join([e[2], *reversed(e[1])])
        if op == "m":
            return f"{e[1]} of {MEMBER}"
        if op in ("+", "-", "×"):
            return f"({t(e[1])} {op} {t(e[2])})"
        if op in ("smaller", "larger"):
            return f"{op} of ({t(e[1])} and {t(e[2])})"
        if op == "total":
            return f"(total {t(e[1])} over {LIST}{f' where {t(e[2])}' if e[2] else ''})"
        if op == "count":
            return f"(how many {LIST}{f' where {t(e[1])}' if e[1] else ''})"
        if op == "cap":
            return "cap from sizes by size and metal"
        if op == "cmp":
            return f"{t(e[2])} {e[1]} {t(e[3])}"
        if op == "flag":
            return t(e[1])
        if op == "not":
            return f"not {t(e[1])}"
        if op == "is":
            return f"{t(e[1])} is {'not ' if e[2] else ''}{' | '.join(e[3])}"
        if op == "none":
            return f"{e[1]} is {'not ' if e[2] else ''}none"
        if op == "quant":
            return f"{e[1]} {LIST} where {t(e[2])}"
        return f"{t(e[1])} is {e[2]} or {e[3]}"

    def knowledge(self) -> Knowledge:
        """The program through the loader. Raises Faults where its rules need each other."""
        words = {
            "job": {"has": {"panels": "many panel", "runs": "many run"}},
            "panel": {},
            "run": {
                "has": {
                    "load": "load",
                    "fixture": "optional fixture",
                    "wire": "wire",
                    LIST: f"many {MEMBER}",
                },
                "panel": {"is": "link panel"},
                "neighbour": {"is": "link run"},
            },
            "load": {},
            "fixture": {},
            MEMBER: {},
            "wire": {},
        }
        types = {
            "number": "count",
            "colour": " | ".join(COLOURS),
            "so": "yes or no",
            "metal": " | ".join(METALS),
            "size": "row of sizes",
        }
        for kind, facts in self.facts.items():
            words[kind] |= {f: {"is": types[t]} for f, t in facts.items()}
        name = f"asp-{abs(hash(tuple(self.table)))}.csv"
        (rp.FOLDER / name).write_text(
            "\n".join(["size,metal,cap", *(f"{s},{m},{c}" for s, m, c in self.table)]) + "\n"
        )
        items = [
            {
                "table": "sizes",
                "file": name,
                "keys": {"size": "exact", "metal": "exact"},
                "values": {"cap": "count"},
                **rp.ITEM,
            }
        ]
        for r in self.rules:
            d = {"rule": r["id"], "about": r["about"], **rp.ITEM}
            when = [
                {"any of": [self.text(c) for c in w[1]]} if w[0] == "any" else self.text(w)
                for w in r["when"]
            ]
            if when:
                d["when"] = when
            if "fact" in r:
                d[r["verb"]] = {r["fact"]: self.text(r["value"])}
            elif "test" in r:
                d[r["verb"]] = (
                    {"any of": [self.text(c) for c in r["test"][1]]}
                    if r["test"][0] == "any"
                    else self.text(r["test"])
                )
            if r["exception to"]:
                d["exception to"] = r["exception to"]
            items.append(d)
        if self.pick:
            items.append(
                {
                    "rule": "size-of-wire",
                    "about": "wire",
                    "tries": {"size": "from sizes by metal"},
                    "picks": "least size",
                    **rp.ITEM,
                }
            )
        faults, vocabulary = Collector(), Words()
        vocabulary.read(mapping_of(words), faults)
        return build(
            [(mapping_of(d), rp.FOLDER) for d in items], vocabulary, [], "2023", faults=faults
        )

    # ---- a job
    def job(self, seed: int) -> dict:
        rng = random.Random(f"{self.rules} {seed}")
        share = rng.choice([0.4, 0.7, 0.9, 1.0])
        panels, runs = (
            [f"p{c}" for c in "ab"[: rng.randint(0, 2)]],
            [f"r{c}" for c in "abc"[: rng.randint(1, 3)]],
        )

        def told(kind: str) -> dict:
            out = {}
            for f, t in self.facts[kind].items():
                if rng.random() < share * (
                    0.3 if (kind, f) in self.given or f == "least size" else 1
                ):
                    out[f] = (
                        str(rng.randint(0, 12))
                        if t == "number"
                        else rng.choice(
                            {
                                "colour": COLOURS,
                                "so": ["yes", "no"],
                                "metal": METALS,
                                "size": SIZES,
                            }[t]
                        )
                    )
            return out

        body: dict = {
            "job": "generated",
            "runs": {},
            **({"panels": {p: told("panel") for p in panels}} if panels else {}),
        }
        for n in runs:
            r = body["runs"][n] = told("run") | {"load": told("load"), "wire": told("wire")}
            if panels and rng.random() < 0.8:
                r["panel"] = rng.choice(panels)
            if rng.random() < 0.6:
                r["neighbour"] = rng.choice([*runs, "none"])
            if (how := rng.random()) < 0.8:
                r["fixture"] = told("fixture") if how < 0.4 else "none"
            if rng.random() < 0.8:
                r[LIST] = {f"s{c}": told(MEMBER) for c in "abc"[: rng.randint(0, 3)]} or "none"
        return body


# ---- the meaning, as a logic program -------------------------------------------------------------------------------


def q(text: str) -> str:
    return '"' + text + '"'


def word(name: str) -> str:
    return name.replace(" ", "_").replace("-", "_").lower()


class Translation:
    """Clauses for one program. In plane "r" a wire stands with a size that is tried: its own facts are the row's."""

    def __init__(self, p: Program) -> None:
        self.p, self.out, self.n = p, [], 0
        self.aside = {
            r["id"]: [e["id"] for e in p.rules if r["id"] in e["exception to"]] for r in p.rules
        }
        self.add("tv(t;f;u).")
        for i, s in enumerate(SIZES):
            self.add(f"place({q(s)},{i}).")
        for s, m, c in p.table:
            self.add(f"row({q(s)},{q(m)},{c}).")
        for plane in ("", "r") if p.pick else ("",):
            for r in p.rules:
                if not plane or r["about"] == "wire":
                    self.rule(r, plane)
            for kind, facts in p.facts.items():
                if not plane or kind == "wire":
                    for f, t in facts.items():
                        self.settle(kind, f, t, plane)
        if p.pick:
            self.picks()

    def add(self, clause: str) -> None:
        self.out.append(clause)

    def fresh(self) -> int:
        self.n += 1
        return self.n

    @staticmethod
    def dom(kind: str, plane: str) -> str:
        return f"is_{kind}(X)" if not plane else "tried(X)"

    def cell(self, kind: str, fact: str, plane: str) -> str:
        return f"c{plane}_{kind}_{word(fact)}"

    # ---- paths: what is read is one value term, `unknown` or `nothing`
    def read(self, e, kind: str, plane: str, member: bool) -> str:
        i = self.fresh()
        d = "pair(X,M)" if member else self.dom(kind, plane)
        subject = "(X,M)" if member else "X"
        if e[0] == "m":
            c = self.cell(MEMBER, e[1], "")
            self.add(f"v{i}((X,M),V) :- pair(X,M), {c}(M,V).")
            self.add(f"v{i}((X,M),unknown) :- pair(X,M), not {c}(M,_).")
            return f"v{i}"
        links, fact = e[1], e[2]
        if not links:
            c = self.cell(kind, fact, plane)
            self.add(f"v{i}({subject},V) :- {d}, {c}(X,V).")
            self.add(f"v{i}({subject},unknown) :- {d}, not {c}(X,_).")
            return f"v{i}"
        at, k = ("X" if not plane else "W"), kind
        base = d if not plane else "tried(X), X=(W,_)"
        self.add(f"a{i}_0({subject},{at}) :- {base}.")
        for j, link in enumerate(links):
            name = f"l_{k}_{word(link)}"
            self.add(f"a{i}_{j + 1}(S,Z) :- a{i}_{j}(S,Y), {name}(Y,Z), Z != none.")
            self.add(f"v{i}(S,nothing) :- a{i}_{j}(S,Y), {name}(Y,none).")
            self.add(f"v{i}(S,unknown) :- a{i}_{j}(S,Y), not {name}(Y,_).")
            k = LINKS[k][link]
        c = self.cell(k, fact, "")
        self.add(f"v{i}(S,V) :- a{i}_{len(links)}(S,Y), {c}(Y,V).")
        self.add(f"v{i}(S,unknown) :- a{i}_{len(links)}(S,Y), not {c}(Y,_).")
        return f"v{i}"

    # ---- numbers: iv(least, most or `no`), or nothing
    def number(self, e, kind: str, plane: str, member: bool = False) -> str:
        i, op = f"e{self.fresh()}", e[0]
        d = "pair(X,M)" if member else self.dom(kind, plane)
        s = "(X,M)" if member else "X"
        if op == "n":
            self.add(f"{i}({s},iv({e[1]},{e[1]})) :- {d}.")
        elif op in ("p", "m"):
            v = self.read(e, kind, plane, member)
            self.add(f"{i}(S,iv(L,H)) :- {v}(S,iv(L,H)).")
            self.add(f"{i}(S,iv(0,no)) :- {v}(S,unknown).")
            self.add(f"{i}(S,nothing) :- {v}(S,nothing).")
            self.add(f"{i}(S,nothing) :- {v}(S,none).")
        elif op in ("+", "-", "×", "smaller", "larger"):
            a, b = self.number(e[1], kind, plane), self.number(e[2], kind, plane)
            self.add(f"{i}(S,nothing) :- {a}(S,nothing).")
            self.add(f"{i}(S,nothing) :- {b}(S,nothing).")
            both = f"{a}(S,iv(L,H)), {b}(S,iv(K,J))"
            if op == "+":
                self.add(f"lo_{i}(S,L+K) :- {both}, L != no, K != no.")
                self.add(f"hi_{i}(S,H+J) :- {both}, H != no, J != no.")
            elif op == "-":
                self.add(f"lo_{i}(S,L-J) :- {both}, L != no, J != no.")
                self.add(f"hi_{i}(S,H-K) :- {both}, H != no, K != no.")
            elif (
                op == "×"
            ):  # no amount here is less than nothing; nothing times the unknown is nothing
                self.add(f"lo_{i}(S,L*K) :- {both}.")
                self.add(f"hi_{i}(S,H*J) :- {both}, H != no, J != no.")
                self.add(f"hi_{i}(S,0) :- {both}, H = 0.")
                self.add(f"hi_{i}(S,0) :- {both}, J = 0.")
            else:
                low, m = ("L", "<") if op == "smaller" else ("L", ">")
                self.add(f"lo_{i}(S,L) :- {both}, L != no, K != no, L {m}= K.")
                self.add(f"lo_{i}(S,K) :- {both}, L != no, K != no, K {m} L.")
                self.add(f"hi_{i}(S,H) :- {both}, H != no, J != no, H {m}= J.")
                self.add(f"hi_{i}(S,J) :- {both}, H != no, J != no, J {m} H.")
                if (
                    op == "smaller"
                ):  # one known end bounds the smaller from above, and the larger from below
                    self.add(f"hi_{i}(S,H) :- {both}, H != no, J = no.")
                    self.add(f"hi_{i}(S,J) :- {both}, J != no, H = no.")
                else:
                    self.add(f"lo_{i}(S,L) :- {both}, L != no, K = no.")
                    self.add(f"lo_{i}(S,K) :- {both}, K != no, L = no.")
            self.ends(i, f"{a}(S,iv(_,_)), {b}(S,iv(_,_))")
        elif op in ("total", "count"):
            where = e[2] if op == "total" else e[1]
            body = self.number(e[1], kind, "", True) if op == "total" else None
            w = self.test(where, kind, "", True) if where else None
            value = f"{body}((X,M),iv(L,H))" if body else "pair(X,M), L=1, H=1"
            self.add(
                f"in_{i}(X,M,L,H,T) :- {value}, {f'{w}((X,M),T), T != f, T != nothing' if w else 'T=t'}."
            )
            self.add(f"lo_{i}(X,N) :- {d}, N = #sum {{ L,M : in_{i}(X,M,L,_,t) }}.")
            self.add(
                f"hi_{i}(X,N) :- {d}, not open_list(X), not unbounded_{i}(X), N = #sum {{ H,M : in_{i}(X,M,_,H,_) }}."
            )
            self.add(f"unbounded_{i}(X) :- in_{i}(X,_,_,no,_).")
            self.ends(i, "X=S, " + d)
        elif op == "cap":
            size, metal = (self.read(("p", (), f), kind, plane, False) for f in ("size", "metal"))
            for v in (size, metal):
                self.add(f"{i}(S,nothing) :- {v}(S,none).")
            self.add(
                f"may_{i}(S,C) :- {size}(S,A), {metal}(S,B), row(Z,Y,C), fits(A,Z), fits(B,Y)."
            )
            self.add(f"lo_{i}(S,N) :- may_{i}(S,_), N = #min {{ C : may_{i}(S,C) }}.")
            self.add(f"hi_{i}(S,N) :- may_{i}(S,_), N = #max {{ C : may_{i}(S,C) }}.")
            # An unknown key may turn out to have no row: any size may; a metal only where that pair is not in the table.
            self.add(f"off_{i}(S) :- {size}(S,unknown), {metal}(S,B), B != none.")
            for metal_name in METALS:
                self.add(
                    f"off_{i}(S) :- {metal}(S,unknown), {size}(S,A), A != unknown, A != none, not row(A,{q(metal_name)},_)."
                )
            self.add(f"{i}(S,iv(L,H)) :- lo_{i}(S,L), hi_{i}(S,H), not off_{i}(S).")
            self.add(f"{i}(S,iv(0,no)) :- off_{i}(S).")
            self.add(
                f"{i}(S,iv(0,no)) :- {size}(S,A), {metal}(S,B), A != none, B != none, not may_{i}(S,_)."
            )
        return i

    def ends(self, i: str, body: str) -> None:
        self.add(f"{i}(S,iv(L,H)) :- lo_{i}(S,L), hi_{i}(S,H).")
        self.add(f"{i}(S,iv(L,no)) :- lo_{i}(S,L), not hi_{i}(S,_).")
        self.add(f"{i}(S,iv(no,H)) :- hi_{i}(S,H), not lo_{i}(S,_).")
        self.add(f"{i}(S,iv(no,no)) :- {body}, not hi_{i}(S,_), not lo_{i}(S,_).")

    # ---- tests: t, f, u, or nothing
    def test(self, c, kind: str, plane: str, member: bool = False) -> str:
        i, op = f"t{self.fresh()}", c[0]
        d = "pair(X,M)" if member else self.dom(kind, plane)
        s = "(X,M)" if member else "X"
        if op == "cmp":
            a, b = self.number(c[2], kind, plane, member), self.number(c[3], kind, plane, member)
            how = c[1]
            self.add(f"{i}(S,nothing) :- {a}(S,nothing).")
            self.add(f"{i}(S,nothing) :- {b}(S,nothing).")
            both = f"{a}(S,iv(L,H)), {b}(S,iv(K,J))"
            if how in ("<", "<="):
                both, how = f"{a}(S,iv(K,J)), {b}(S,iv(L,H))", {"<": ">", "<=": ">="}[how]
            if how in ("=", "!="):
                same, other = ("t", "f") if how == "=" else ("f", "t")
                self.add(f"{i}(S,{same}) :- {both}, L=H, K=J, L=K, L != no.")
                self.add(f"apart_{i}(S) :- {both}, H != no, K != no, H < K.")
                self.add(f"apart_{i}(S) :- {both}, J != no, L != no, J < L.")
                self.add(f"{i}(S,{other}) :- apart_{i}(S).")
                self.add(f"{i}(S,u) :- {both}, not {i}(S,{same}), not apart_{i}(S).")
            else:
                yes, no = (">=", "<") if how == ">=" else (">", "<=")
                self.add(f"{i}(S,t) :- {both}, L != no, J != no, L {yes} J.")
                self.add(f"{i}(S,f) :- {both}, H != no, K != no, H {no} K.")
                self.add(f"{i}(S,u) :- {both}, not {i}(S,t), not {i}(S,f).")
        elif op == "flag":
            v = self.read(c[1], kind, plane, member)
            self.add(
                f"{i}(S,t) :- {v}(S,yes).  {i}(S,f) :- {v}(S,no).  {i}(S,u) :- {v}(S,unknown).  {i}(S,nothing) :- {v}(S,nothing)."
            )
        elif op == "not":
            a = self.test(c[1], kind, plane, member)
            self.add(
                f"{i}(S,f) :- {a}(S,t).  {i}(S,t) :- {a}(S,f).  {i}(S,u) :- {a}(S,u).  {i}(S,nothing) :- {a}(S,nothing)."
            )
        elif op == "is":
            v = self.read(c[1], kind, plane, member)
            inside, outside = ("f", "t") if c[2] else ("t", "f")
            for w in COLOURS:
                self.add(f"{i}(S,{inside if w in c[3] else outside}) :- {v}(S,{q(w)}).")
            self.add(f"{i}(S,u) :- {v}(S,unknown).  {i}(S,nothing) :- {v}(S,nothing).")
        elif op == "gauge":
            v = self.read(c[1], kind, plane, member)
            n, m = SIZES.index(c[2]), "<=" if c[3] == "smaller" else ">="
            self.add(
                f"{i}(S,t) :- {v}(S,Z), place(Z,N), N {m} {n}.  {i}(S,f) :- {v}(S,Z), place(Z,N), not N {m} {n}."
            )
            self.add(
                f"{i}(S,u) :- {v}(S,unknown).  {i}(S,nothing) :- {v}(S,nothing).  {i}(S,nothing) :- {v}(S,none)."
            )
        elif op == "none":
            l = f"l_{kind}_{word(c[1])}"
            self.add(f"{i}(X,{'f' if c[2] else 't'}) :- {d}, {l}(X,none).")
            self.add(f"{i}(X,{'t' if c[2] else 'f'}) :- {d}, {l}(X,Z), Z != none.")
            self.add(f"{i}(X,u) :- {d}, not {l}(X,_).")
        elif op == "any":
            parts = [self.test(a, kind, plane, member) for a in c[1]]
            for a in parts:
                self.add(f"yes_{i}(S) :- {a}(S,t).  may_{i}(S) :- {a}(S,u).")
            self.either(i, s, d)
        elif op == "quant":
            w = self.test(c[2], kind, "", True)
            if c[1] == "every":  # one that is not so settles it; nothing counts as not so
                self.add(f"no_{i}(X) :- {w}((X,M),f).  no_{i}(X) :- {w}((X,M),nothing).")
                self.add(f"may_{i}(X) :- {w}((X,M),u).  may_{i}(X) :- {d}, open_list(X).")
                self.add(
                    f"{i}(X,f) :- no_{i}(X).  {i}(X,u) :- may_{i}(X), not no_{i}(X).  {i}(X,t) :- {d}, not may_{i}(X), not no_{i}(X)."
                )
            else:
                j = f"some_{i}"
                self.add(
                    f"yes_{j}(X) :- {w}((X,M),t).  may_{j}(X) :- {w}((X,M),u).  may_{j}(X) :- {d}, open_list(X)."
                )
                self.either(j, "X", d)
                yes, no = ("t", "f") if c[1] == "some" else ("f", "t")
                self.add(
                    f"{i}(X,{yes}) :- {j}(X,t).  {i}(X,{no}) :- {j}(X,f).  {i}(X,u) :- {j}(X,u)."
                )
        return i

    def either(self, i: str, s: str, d: str) -> None:
        self.add(f"{i}({s},t) :- {d}, yes_{i}({s}).")
        self.add(f"{i}({s},u) :- {d}, may_{i}({s}), not yes_{i}({s}).")
        self.add(f"{i}({s},f) :- {d}, not may_{i}({s}), not yes_{i}({s}).")

    # ---- rules
    def rule(self, r: dict, plane: str) -> None:
        name, kind = word(r["id"]) + plane, r["about"]
        d = self.dom(kind, plane)
        parts = [self.test(c, kind, plane) for c in r["when"]]
        self.add(
            f"#defined no_{name}/1. #defined open_{name}/1. #defined aside_{name}/1. #defined perhaps_{name}/1."
        )
        for a in parts:
            self.add(
                f"no_{name}(S) :- {a}(S,f).  no_{name}(S) :- {a}(S,nothing).  open_{name}(S) :- {a}(S,u)."
            )
        self.add(f"applies_{name}(X,f) :- {d}, no_{name}(X).")
        self.add(f"applies_{name}(X,u) :- {d}, open_{name}(X), not no_{name}(X).")
        self.add(f"applies_{name}(X,t) :- {d}, not open_{name}(X), not no_{name}(X).")
        for e in self.aside[r["id"]]:
            self.add(
                f"aside_{name}(X) :- holds_{word(e)}{plane}(X,t).  perhaps_{name}(X) :- holds_{word(e)}{plane}(X,u)."
            )
        self.add(f"holds_{name}(X,f) :- applies_{name}(X,f).")
        self.add(f"holds_{name}(X,f) :- {d}, aside_{name}(X).")
        self.add(
            f"holds_{name}(X,t) :- applies_{name}(X,t), not aside_{name}(X), not perhaps_{name}(X)."
        )
        self.add(f"holds_{name}(X,u) :- {d}, not holds_{name}(X,t), not holds_{name}(X,f).")
        if "fact" in r:
            v = r["value"]
            on = f"not applies_{name}(S,f)"
            if v[0] == "word":
                value = v[1] if v[1] in ("yes", "no") else q(v[1])
                self.add(f"value_{name}(X,{value}) :- {d}, not applies_{name}(X,f).")
            elif self.p.facts[kind][r["fact"]] == "so":
                i = self.test(v, kind, plane)
                self.add(
                    f"value_{name}(S,yes) :- {i}(S,t), {on}.  value_{name}(S,no) :- {i}(S,f), {on}."
                )
            else:
                i = self.number(v, kind, plane)
                self.add(
                    f"value_{name}(S,iv(L,H)) :- {i}(S,iv(L,H)), {on}, (L,H) != (0,no)."
                )  # 0 or more says nothing
        if "test" in r:
            i = self.test(r["test"], kind, plane)
            good, bad = ("f", "t") if r["verb"] == "must not" else ("t", "f")
            fails = "advice" if r["verb"] == "should" else "fails"
            self.add(f"own_{name}(S,passes) :- {i}(S,{good}), not applies_{name}(S,f).")
            self.add(f"own_{name}(S,{fails}) :- {i}(S,{bad}), applies_{name}(S,t).")
            self.add(f"own_{name}(S,tell) :- {i}(S,{bad}), applies_{name}(S,u).")
            self.add(f"own_{name}(S,tell) :- {i}(S,u), not applies_{name}(S,f).")
            self.add(f"answer{plane}({q(r['id'])},X,passes) :- own_{name}(X,passes).")
            self.add(
                f"answer{plane}({q(r['id'])},X,aside) :- own_{name}(X,A), A != passes, aside_{name}(X)."
            )
            self.add(
                f"answer{plane}({q(r['id'])},X,A) :- own_{name}(X,A), A != passes, not aside_{name}(X)."
            )
            self.add(f"answer{plane}({q(r['id'])},X,off) :- {d}, not own_{name}(X,_).")

    # ---- facts
    def settle(self, kind: str, fact: str, t: str, plane: str) -> None:
        c = self.cell(kind, fact, plane)
        told = f"told_{kind}_{word(fact)}"
        self.add(f"#defined {told}/2.")
        givers = [r for r in self.p.rules if r["about"] == kind and r.get("fact") == fact]
        if fact == "size" and plane:
            self.add(f"{c}(X,S) :- tried(X), X=(_,S).")
            return
        if fact == "least size" and self.p.pick and not plane:
            self.add(f"{c}(X,V) :- {told}(X,V).  {c}(X,V) :- picked(X,V), not {told}(X,_).")
            return
        if plane and (
            not givers or fact == "least size" or any(g["verb"] == "designs" for g in givers)
        ):
            self.add(f"{c}((W,S),V) :- tried((W,S)), {self.cell(kind, fact, '')}(W,V).")
            return
        key = f"{kind}_{word(fact)}{plane}"
        tell = f"{told}(X,V)" if not plane else f"tried(X), X=(W,_), {told}(W,V)"
        self.add(f"given_{key}(X,V) :- {tell}.")
        self.add(
            f"#defined live_{key}/2. #defined waits_{key}/2. #defined apart_{key}/1. #defined blank_{key}/1. #defined fallback_{key}/2. #defined any_{key}/1."
        )
        for g in givers:
            n = word(g["id"]) + plane
            self.add(f"#defined value_{n}/2.")
            if g["verb"] == "gives":
                self.add(
                    f"any_{key}(X) :- applies_{n}(X,t), not aside_{n}(X).  any_{key}(X) :- applies_{n}(X,u), not aside_{n}(X)."
                )
                self.add(f"live_{key}(X,V) :- applies_{n}(X,t), not aside_{n}(X), value_{n}(X,V).")
                self.add(
                    f"blank_{key}(X) :- applies_{n}(X,t), not aside_{n}(X), not value_{n}(X,_)."
                )
                self.add(
                    f"differs_{key}(X,V) :- live_{key}(X,V), applies_{n}(X,u), not aside_{n}(X), not value_{n}(X,V)."
                )
        self.add(f"#defined differs_{key}/2.")
        if t == "number":
            self.add(
                f"apart_{key}(X) :- given_{key}(X,iv(N,N)), live_{key}(X,iv(L,_)), L != no, N < L."
            )
            self.add(
                f"apart_{key}(X) :- given_{key}(X,iv(N,N)), live_{key}(X,iv(_,H)), H != no, N > H."
            )
        else:
            self.add(f"apart_{key}(X) :- given_{key}(X,V), live_{key}(X,W), V != W.")
        self.add(f"two_{key}(X) :- live_{key}(X,V), live_{key}(X,W), V < W.")
        self.add(f"{c}(X,V) :- given_{key}(X,V), not apart_{key}(X).")
        self.add(
            f"{c}(X,V) :- live_{key}(X,V), not given_{key}(X,_), not two_{key}(X), not blank_{key}(X), not differs_{key}(X,V)."
        )
        earlier: list[str] = []
        for g in sorted(
            (g for g in givers if g["verb"] in FALLBACKS),
            key=lambda g: (FALLBACKS.index(g["verb"]), g["id"]),
        ):
            n = word(g["id"]) + plane
            self.add(f"can_{n}(X) :- applies_{n}(X,t), not aside_{n}(X), value_{n}(X,_).")
            self.add(
                f"{c}(X,V) :- can_{n}(X), value_{n}(X,V), not given_{key}(X,_), not any_{key}(X){''.join(f', not can_{o}(X)' for o in earlier)}."
            )
            earlier.append(n)

    def picks(self) -> None:
        metal = self.cell("wire", "metal", "")
        self.add(f"tried((W,S)) :- is_wire(W), {metal}(W,M), row(S,M,_).")
        self.add(
            "fits(A,A) :- row(A,_,_).  fits(A,A) :- row(_,A,_).  fits(unknown,A) :- row(A,_,_).  fits(unknown,A) :- row(_,A,_)."
        )
        for r in self.p.rules:
            if r["about"] == "wire" and r["verb"] in ("must", "must not"):
                self.add(
                    f"bad(X) :- answerr({q(r['id'])},X,fails).  doubtful(X) :- answerr({q(r['id'])},X,tell)."
                )
        self.add(
            "good(X) :- tried(X), not bad(X), not doubtful(X).  waits(X) :- tried(X), doubtful(X), not bad(X)."
        )
        self.add("#defined bad/1. #defined doubtful/1.")
        self.add("later((W,S)) :- tried((W,S)), good((W,Z)), place(Z,N), place(S,M), N < M.")
        self.add("unsure(W) :- waits((W,S)), not later((W,S)).")
        self.add("picked(W,S) :- good((W,S)), not later((W,S)), not unsure(W).")
        self.add(f"picked(W,none) :- is_wire(W), {metal}(W,_), not good((W,_)), not unsure(W).")


def facts_of(p: Program, body: dict) -> list[str]:
    """What a job tells, as facts; what is not told is not there."""
    out = [
        "#defined open_list/1. #defined pair/2. #defined fits/2. #defined row/3. #defined tried/1."
    ]
    for kind, links in LINKS.items():
        out += [f"#defined is_{kind}/1."] + [f"#defined l_{kind}_{word(link)}/2." for link in links]

    def thing(kind: str, id_: str, d: dict) -> None:
        out.append(f"is_{kind}({q(id_)}).")
        for f, t in p.facts[kind].items():
            if f in d:
                value = f"iv({d[f]},{d[f]})" if t == "number" else d[f] if t == "so" else q(d[f])
                out.append(f"told_{kind}_{word(f)}({q(id_)},{value}).")

    for n, d in body.get("panels", {}).items():
        thing("panel", f"panels.{n}", d)
    for n, d in body["runs"].items():
        id_ = f"runs.{n}"
        thing("run", id_, d)
        for part in ("load", "wire", "fixture"):
            if isinstance(d.get(part), dict):
                thing(part, f"{id_}.{part}", d[part])
                out.append(
                    f"l_run_{part}({q(id_)},{q(f'{id_}.{part}')}). l_{part}_run({q(f'{id_}.{part}')},{q(id_)})."
                )
            elif d.get(part) == "none":
                out.append(f"l_run_{part}({q(id_)},none).")
        for link, plural in (("panel", "panels"), ("neighbour", "runs")):
            if link in d:
                to = "none" if d[link] == "none" else q(f"{plural}.{d[link]}")
                out.append(f"l_run_{link}({q(id_)},{to}).")
        if LIST not in d:
            out.append(f"open_list({q(id_)}).")
        elif d[LIST] != "none":
            for m, b in d[LIST].items():
                thing(MEMBER, f"{id_}.{LIST}.{m}", b)
                out.append(
                    f"pair({q(id_)},{q(f'{id_}.{LIST}.{m}')}). l_{MEMBER}_run({q(f'{id_}.{LIST}.{m}')},{q(id_)})."
                )
    return out

"""What the proof check reads with: amounts and units, lines, tables, words and jobs, all from the raw items.

A second reading beside that of the chainers, and nothing of theirs: they must come to the same without sharing a mistake.
"""

from __future__ import annotations

import re
from collections import Counter, namedtuple
from fractions import Fraction as F
from functools import lru_cache
from pathlib import Path
from types import SimpleNamespace as Box

from .reading import read_csv

NONE, NOTHING, SOME = "(none)", "(nothing)", (F(0), None)    # absent; beyond something absent; an unknown amount
LAYERS = {"code": "law", "manufacturer": "maker", "local": "local", "practice": "practice"}
TableSource = namedtuple("TableSource", "d path")            # the YAML item of a table, and its CSV file
Many = namedtuple("Many", "ids open")                        # a list of the job

# ---- amounts: (low, high) in volts, amperes, inches, °C ...; None is an open end
UNITS = {n.replace("_", " "): (F(f), tuple(sorted((k, e) for k, e in (Counter(d.split()) - Counter()).items()))) for n, f, d in (
    u.split(maxsplit=2) if u.count(" ") > 1 else (*u.split(), "") for u in (
        "A 1 A;mA 1/1000 A;kA 1000 A;V 1 V;VA 1 A V;W 1 A V;kVA 1000 A V;kW 1000 A V;hp 1 hp;in 1 in;ft 12 in;in² 1 in in;in³ 1 in in in;cmil 1 cmil;"
        "C° 1 K;F° 5/9 K;s 1 s;h 3600 s;° 1 deg;lb-in 1 lb-in;count 1;% 1/100;°C 1 T;°F 5/9 T").split(";"))}
UNITS |= {n: (F(f), d) for n, f, d in (("Ω", 1, (("A", -1), ("V", 1))), ("mΩ", F(1, 1000), (("A", -1), ("V", 1))), ("MΩ", 10**6, (("A", -1), ("V", 1))),
                                       ("Ω/kft", F(1, 12000), (("A", -1), ("V", 1), ("in", -1))), ("per F°", F(9, 5), (("K", -1),)))}
POINT, STEP = UNITS["°C"][1], UNITS["C°"][1]
WRITTEN = {w: u for u, ws in {"A": "a amp amps ampere amperes", "mA": "ma milliamps", "kA": "ka", "V": "v volt volts vac", "W": "w watt watts", "VA": "va", "kVA": "kva",
                              "kW": "kw kilowatts", "Ω": "ohm ohms", "mΩ": "milliohm milliohms mohm", "MΩ": "megohm megohms", "ft": "feet foot ' ’ ′", "in": 'inch inches " ” ″',
                              "in²": "in2 in^2", "in³": "in3 in^3", "°F": "f degf ºf", "°C": "c degc ºc", "%": "percent", "hp": "hp horsepower", "h": "hour hours",
                              "s": "seconds", "°": "deg degrees", "lb-in": "in-lb"}.items() for w in ws.split()}
WRITTEN |= {"sq in": "in²", "cu in": "in³", "cubic inches": "in³", "deg f": "°F", "degrees f": "°F", "deg c": "°C", "degrees c": "°C"}


def base(q: F, unit: str) -> F:
    return q * UNITS[unit][0] - (F(160, 9) if unit == "°F" else 0)


def amount(text: str, unit: str) -> F:
    """What a person or a table wrote, in base: `35'`, `6 ft 7 in`, `1-1/2 hp`, `100/3`, `80 F`."""
    if m := re.fullmatch(r"\s*(\d+)\s*(?:ft|feet|foot|'|′)\s*([\d.]+)\s*(?:in|inch|inches|\"|″)\s*", text):
        return F(m[1]) * 12 + F(m[2])
    m = re.fullmatch(r"\s*([-+]?)\s*([\d,]*\.?\d+|\d+\.)(?:\s*[- ]\s*(\d+)\s*/\s*(\d+)|\s*/\s*(\d+))?\s*(\D.*?)?\.?\s*", text)
    q = (F(m[2].replace(",", "").rstrip(".")) + (F(int(m[3]), int(m[4])) if m[3] else 0)) / int(m[5] or 1) * (-1 if m[1] == "-" else 1)
    u = (m[6] or unit).strip()
    u = u if u in UNITS else WRITTEN[u.lower()]
    if UNITS[u][1] != UNITS[unit][1]:
        raise ValueError(f"{text} is not in {unit}")
    return base(q, u)


def shown(v: F, unit: str) -> str:
    """An amount as a table row is called."""
    q = (v + (F(160, 9) if unit == "°F" else 0)) / UNITS[unit][0]
    whole = (q * 10**4).denominator == 1
    places = 4 if whole or abs(q) < 10 else 2
    n = round(q * 10**places)
    text = f"{abs(n) // 10**places:{',' if abs(q) >= 10000 else ''}}.{abs(n) % 10**places:0{places}}".rstrip("0").rstrip(".")
    return ("-" if n < 0 else "") + text + ("" if unit == "count" else "°" if unit == "°" else f" {unit}")


# ---- lines, as nested tuples
RESERVED = frozenset("of over where by from is not and or total smallest largest smaller larger how stepped rounded square among every some no".split())
TOKEN = re.compile(r"\s*(?:(?P<size>\d+(?:/0)?\s?(?:AWG|kcmil))(?!\w)|(?P<num>\d[\d,]*(?:\.\d+)?)(?:\s*(?P<unit>" + "|".join(
    re.escape(u) for u in sorted(UNITS, key=len, reverse=True) if u != "count") + r")(?![\w²³°/]))?|'(?P<word>[^']*)'|(?P<op>[<>!]=|[^\w\s])|(?P<name>[^\s()+×÷*±,=<>|≥≤]+))")
SAME = {"≥": ">=", "≤": "<=", "≠": "!=", "*": "×", "/": "÷", "−": "-"}


class Line:
    def __init__(self, text: str) -> None:
        self.text, self.i, self.ts = text, 0, list(TOKEN.finditer(text.rstrip()))

    def take(self, *choices: str) -> str | None:
        for c in choices:
            ws = c.split()
            if [SAME.get(m["op"], m["op"]) or m["name"] for m in self.ts[self.i:self.i + len(ws)]] == ws:
                self.i += len(ws)
                return c
        return None

    def need(self, *choices: str) -> str:
        if got := self.take(*choices):
            return got
        raise ValueError(f'"{self.text}" cannot be read')

    def name(self) -> str:
        ws = []
        while self.i < len(self.ts) and self.ts[self.i]["name"] and self.ts[self.i]["name"] not in RESERVED:
            ws.append(self.ts[self.i]["name"])
            self.i += 1
        return " ".join(ws)

    def path(self, first: str | None = None) -> tuple:
        names = [self.name() if first is None else first]
        while self.take("of"):
            names.append(self.name())
        return "path", tuple(reversed(names))

    def total(self) -> tuple:
        a = self.product()
        while op := self.take("+", "-", "±"):
            a = "bin", op, a, self.product()
        return a

    def product(self) -> tuple:
        a = self.atom()
        while op := self.take("×", "÷"):
            a = "bin", op, a, self.atom()
        return a

    def atom(self) -> tuple:
        a = self.bare()
        while how := self.take("stepped up in", "stepped down in", "rounded half up to", "rounded up to", "rounded down to"):
            a = ("step", how[:-3], a, self.name()) if how[0] == "s" else ("round", how[:-3], a, self.bare())
        return a

    def bare(self) -> tuple:
        m = self.ts[self.i]
        if m["num"] or m["size"] or m["word"] is not None:
            self.i += 1
            if m["num"]:
                u = m["unit"] or "count"
                return "lit", (base(F(m["num"].replace(",", "")), u),) * 2, ("q", UNITS[u][1])
            return "lit", m["word"] if m["size"] is None else re.sub(r"\s*(AWG|kcmil)", r" \1", m["size"]), ("word",) if m["size"] is None else ("row", None)
        if self.take("("):
            a = self.total()
            self.need(")")
            return a
        if which := self.take("smaller of", "larger of"):
            self.need("(")
            xs = [self.total()]
            while self.take("and"):
                xs.append(self.total())
            self.need(")")
            return which.split()[0], *xs
        if self.take("how many"):
            return self.over("count", None)
        if self.take("square root to"):
            places = self.bare()[1][0]
            self.need("places of")
            return "root", self.bare(), int(places)
        if fn := self.take("total", "smallest", "largest"):
            start, column = self.i, self.name()
            if fn == "smallest" and column and self.take("from"):
                table, keys = self.name(), self.keys()
                self.need("where")
                return "look", column, table, keys, self.cond()
            self.i = start
            body = self.total()
            self.need("over")
            return self.over(fn, body)
        name = self.name()
        return ("look", name, self.name(), self.keys(), None) if self.take("from") else self.path(name)

    def over(self, fn: str, body) -> tuple:
        return "over", fn, body, self.path(), self.cond() if self.take("where") else None, self.bare() if fn in ("smallest", "largest") and self.take("or") else None

    def keys(self) -> tuple:
        out = []
        while self.take("by" if not out else "and"):
            k = self.name()
            out.append((k, self.total() if self.take("=") else ("path", (k,))))
        return tuple(out)

    def cond(self) -> tuple:
        if self.take("not"):
            return "not", self.cond()
        if fn := self.take("every", "some", "no"):
            path = self.path()
            self.need("where")
            return "quant", fn, path, self.cond()
        a = self.total()
        if op := self.take(">=", "<=", "!=", "=", "<", ">"):
            return "cmp", op, a, self.total()
        if not self.take("is"):
            return "flag", a
        negated = bool(self.take("not"))
        if self.take("among"):
            n = self.name()
            return ("among", negated, a, self.name(), n, self.keys()) if self.take("from") else ("among", negated, a, n, None, ())
        m = self.ts[self.i]
        if m["size"]:
            size, way = self.bare()[1], self.take("or smaller", "or larger")
            g = ("gauge", a, size, way[3:]) if way else ("is", negated, a, (size,))
            return ("not", g) if way and negated else g
        start, depth = m.start(), 0
        while self.i < len(self.ts) and not (self.ts[self.i]["op"] == ")" and not depth) and not self.ts[self.i]["name"] == "or":
            depth += {"(": 1, ")": -1}.get(self.ts[self.i]["op"], 0)
            self.i += 1
        text = self.text[start:self.ts[self.i].start() if self.i < len(self.ts) else None]
        return "is", negated, a, tuple(w.strip().strip("'") for w in text.split("|"))


@lru_cache(maxsize=None)
def parse(text: str, cond: bool) -> tuple:
    line = Line(text)
    e = line.cond() if cond else line.total()
    if line.i < len(line.ts):
        raise ValueError(f'"{text}" cannot be read')
    return e

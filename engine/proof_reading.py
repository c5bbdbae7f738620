"""What the proof check reads with: amounts and units, lines, tables, words and jobs, all from the raw items.

A second reading beside that of the chainers, and nothing of theirs: they must come to the same without sharing a mistake.
"""

from __future__ import annotations

import re
from collections import Counter, namedtuple
from fractions import Fraction as F
from pathlib import Path
from types import SimpleNamespace as Box

from .reading import read_csv

NONE, NOTHING, SOME = "(none)", "(nothing)", (F(0), None)   # absent; beyond something absent; an unknown amount
LAYERS = {"code": "law", "manufacturer": "maker", "local": "local", "practice": "practice"}
TableSource = namedtuple("TableSource", "d path")            # the YAML item of a table, and its CSV file
Many = namedtuple("Many", "ids open")                        # a list of the job

# ---- amounts: (low, high) in volts, amperes, inches, °C ...; None is an open end
class _Units(dict):
    """Units by name; one put together of others, as `A·V^2/in`, is understood where it is met."""

    def __missing__(self, name: str) -> tuple:
        powers: Counter = Counter()
        for i, part in enumerate(name.split("/")):
            for b, _, n in (f.partition("^") for f in part.split("·") if f != "1"):
                if b not in ("A", "V", "in", "K", "hp", "cmil", "s", "deg", "lb-in"):
                    raise KeyError(name)
                powers[b] += int(n or 1) * (-1 if i else 1)
        return F(1), tuple(sorted((b, n) for b, n in powers.items() if n))


UNITS = _Units({n.replace("_", " "): (F(f), tuple(sorted((k, e) for k, e in (Counter(d.split()) - Counter()).items()))) for n, f, d in (
    u.split(maxsplit=2) if u.count(" ") > 1 else (*u.split(), "") for u in (
        "A 1 A;mA 1/1000 A;kA 1000 A;V 1 V;VA 1 A V;W 1 A V;kVA 1000 A V;kW 1000 A V;hp 1 hp;in 1 in;ft 12 in;in² 1 in in;in³ 1 in in in;cmil 1 cmil;"
        "C° 1 K;F° 5/9 K;s 1 s;h 3600 s;° 1 deg;lb-in 1 lb-in;count 1;% 1/100;°C 1 T;°F 5/9 T").split(";"))})
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


def digits(v: F, unit: str) -> str:
    """An amount exactly, as a decimal where it ends and a fraction where it does not."""
    factor = UNITS[unit][0]
    q = v if factor == 1 else (v + (F(160, 9) if unit == "°F" else 0)) / factor
    if q.denominator == 1:
        return str(q.numerator)
    places = next((p for p in range(60) if 10**p % q.denominator == 0), None)
    if places is None:
        return f"{q.numerator}/{q.denominator}"
    n = abs(int(q * 10**places))
    return ("-" if q < 0 else "") + f"{n // 10**places}.{n % 10**places:0{places}}"


def spelled(v, unit: str = "") -> str:
    """A value as a node has it."""
    if v is None or v is SOME or v in (NONE, NOTHING):
        return "unknown" if v is None or v is SOME else "none"
    if isinstance(v, Many):
        return ", ".join(v.ids)
    if isinstance(v, tuple):
        return digits(v[0], unit) if v[0] == v[1] else "..".join("" if q is None else digits(q, unit) for q in v)
    return ("yes" if v else "no") if isinstance(v, bool) else v


def read(text: str, unit: str) -> tuple:
    """The amount a node claims."""
    lo, dots, hi = text.partition("..")
    ends = [base(F(q), unit) if q else None for q in ((lo, hi) if dots else (lo, lo))]
    return tuple(ends)


def dated(item, edition: str) -> tuple:
    """(value, type) of a dated value."""
    text = item["is"]
    if isinstance(text, dict):
        text = text[max(e for e in text if e <= edition)]
    unit = str(text).lstrip("0123456789.+-/, ").strip() or "count"
    unit = unit if unit in UNITS else WRITTEN[unit.lower()]
    return (amount(str(text), unit),) * 2, ("q", UNITS[unit][1])


def layer(d) -> str:
    return next((said for k, said in LAYERS.items() if k in d), "practice")


def as_list(v) -> list:
    return [] if v is None else v if isinstance(v, list) else [v]


def section_of(d, edition: str) -> str | None:
    """The section of an item in an edition; None where it is not in force."""
    if not isinstance(d.get("code"), dict):
        return str(next((d[k] for k in LAYERS if k in d), ""))
    e = max((e for e in d["code"] if e <= edition), default=None)
    return None if e is None or d["code"][e] == "gone" else str(d["code"][e])


# ---- tables
class Table:
    """The rows of a table as dicts of amounts and words, and where each stands in its file."""

    def __init__(self, source: TableSource) -> None:
        self.d, self.id, self.file = source.d, str(source.d["table"]), Path(source.path).name
        hows = {str(k): re.fullmatch(r"(exact|next row up|next row down) ?(.*)", str(v)) for k, v in self.d["keys"].items()}
        self.how = {k: m[1] for k, m in hows.items()}
        self.units = {k: m[2] for k, m in hows.items()} | {str(k): str(v) for k, v in self.d["values"].items()}
        self.rows, self.lines, across = [], [], [str(a) for a in as_list(self.d.get("across"))]
        header, raw = read_csv(Path(source.path).read_text("utf-8-sig"), self.file)
        for n, cells in raw:
            lead = {h: c for h, c in zip(header, cells) if not across or h in self.how}
            spread = [{**dict(zip(across, map(str.strip, h.split(" / ")))), str(next(iter(self.d["values"]))): c}
                      for h, c in zip(header, cells) if across and h not in self.how] or [{}]
            for more in spread:
                row = lead | more
                if "" not in row.values():
                    self.rows.append({k: amount(c, self.unit(k)) if self.unit(k) else c for k, c in row.items()})
                    self.lines.append(n)
        self.flags = {c for c in self.d["values"] if self.type_of(str(c)) == ("word",) and {r[c] for r in self.rows} <= {"yes", "no"}}   # answers, not words

    def unit(self, column: str) -> str | None:
        return self.units[column] if self.units[column] in UNITS else None

    def type_of(self, column: str) -> tuple:
        if self.unit(column):
            return "q", UNITS[self.unit(column)][1]
        if self.units[column].startswith("row of ") and column not in self.how:
            return "row", self.units[column][7:]
        return ("row", self.id) if column in self.how and column in ("size", "trade size") else ("word",)

    def order(self, column: str | None = None) -> dict:
        column = column or ("size" if "size" in self.how else next(iter(self.how)))
        return {v: i for i, v in enumerate(dict.fromkeys(r[column] for r in self.rows))}

    def show(self, column: str, v) -> str:
        return shown(v, self.unit(column)) if self.unit(column) else str(v)

    def name(self, row: dict) -> str:
        return ", ".join(self.show(k, row[k]) for k in self.how)

    def find(self, keys: dict) -> list[dict]:
        """The rows still possible; an empty one stands for what lies off the table."""
        rows = self.rows
        for k, how in self.how.items():
            v = keys.get(k)
            if v is None:
                continue
            if not isinstance(v, tuple):
                rows = [r for r in rows if not r or r[k] == v]
                continue
            (lo, hi), points = v, sorted({r[k] for r in rows if r})
            if how != "exact":
                up, (low_end, high_end) = how == "next row up", (next(iter(points), None), next(reversed(points), None))
                first = low_end if lo is None and up else None if lo is None else self.beside(points, lo, up)
                last = high_end if hi is None and not up else None if hi is None else self.beside(points, hi, up)
                if (first if up else last) is None:
                    return []
                off = [{}] if (last if up else first) is None else []
                rows = [r for r in rows if (first is None or r[k] >= first) and (last is None or r[k] <= last)] + off
            else:
                rows = [r for r in rows if not r or (lo is None or r[k] >= lo) and (hi is None or r[k] <= hi)] + [{}] * (lo != hi)   # or between two rows
        return rows

    @staticmethod
    def beside(points: list, v: F, up: bool):
        return next((p for p in (points if up else reversed(points)) if (p >= v if up else p <= v)), None)

    def neighbours(self, row: dict) -> tuple:
        moving = next((k for k, how in self.how.items() if how != "exact"), next(iter(self.how)))
        alike = [r for r in self.rows if all(r[k] == row[k] for k in self.how if k != moving)]
        i = next(i for i, r in enumerate(alike) if r is row)
        return alike[i - 1] if i else None, alike[i + 1] if i + 1 < len(alike) else None


# ---- words
class Words:
    """The kinds of things: facts (type, part, back, ...), short names, and what people call them."""

    def __init__(self, bodies) -> None:
        self.kinds: dict[str, dict] = {}
        self.short: dict[str, dict] = {}
        self.also: dict[str, dict] = {}
        for body in bodies:
            for kind, facts in body.items():
                for table in (self.kinds, self.short, self.also):
                    table.setdefault(str(kind), {})
                for name, spec in facts.items():
                    self.read(str(kind), str(name), spec)
        for kind, words in [(k, dict(ws)) for k, ws in self.kinds.items()]:
            for w in [w for w in words.values() if w.part]:
                for whole in (kind, "job"):
                    if whole != w.type[1] and whole in self.kinds:
                        self.kinds[w.type[1]].setdefault(whole, self.word(("ref", whole)))

    @staticmethod
    def word(type_, part="", unit="", spec={}) -> Box:
        return Box(type=type_, part=part, unit=unit, back=str(spec.get("back", "")), up=str(spec.get("is", "")).startswith("upstream "), comes=str(spec.get("comes with", "")), may=str(spec.get("may be", "")),
                   means={str(k): str(v) for k, v in spec.get("means", {}).items()})

    def read(self, kind: str, name: str, spec) -> None:
        words = self.kinds[kind]
        if name == "also":
            return
        if name == "has":
            for part, what in spec.items():
                how, of = re.fullmatch(r"(optional |many |open many )?(.+)", str(what)).groups()
                words[str(part)] = self.word(("many" if how and "many" in how else "ref", of), (how or "one").strip())
            return
        self.also[kind].update({str(a): name for a in as_list(spec.get("also"))})
        if "stands for" in spec:
            self.short[kind][name] = tuple(n.strip() for n in reversed(str(spec["stands for"]).split(" of ")))
        elif "is" in spec:
            is_ = str(spec["is"])
            link = re.fullmatch(r"(?:upstream |downstream )?(many |link )(?:link )?(.+)", is_)
            words[name] = self.word(("flag",) if is_ == "yes or no" else ("row", is_[7:]) if is_.startswith("row of ") else ("q", UNITS[is_][1]) if is_ in UNITS else (
                ("many" if link[1] == "many " else "ref", link[2]) if link else ("choice", tuple(c.strip() for c in is_.split("|"))) if "|" in is_ else (is_,)),
                "", is_ if is_ in UNITS else "", spec)

    def spell(self, kind: str, names: tuple) -> list[str]:
        """A path, root first, with its short names written out."""
        out = []
        for n in names:
            for m in (n,) if n in self.kinds.get(kind, {}) else self.short.get(kind, {}).get(n, (n,)):
                out.append(m)
                w = self.kinds.get(kind, {}).get(m)
                kind = w.type[1] if w and w.type[0] == "ref" else ""
        return out


# ---- jobs
class Things:
    """The things of a job: for each its kind, its whole, what it has in each cell, what was told, as written and where."""

    def __init__(self, words: Words, tables, body) -> None:
        self.words, self.tables, self.all, self.links = words, tables, {}, []
        self.make("job", "job", "job", {k: v for k, v in body.items() if k not in ("job", "expect")}, None)
        for x, name, w, v in self.links:
            pool = {i: t for i, t in self.all.items() if t.kind == w.type[1]}
            named = [n for n in map(str, as_list(v)) if n not in ("unknown", "not known", "?", "unsure")]
            hits = [NONE if n == "none" else n if n in pool else next(i for i in pool if i.rsplit(".", 1)[-1] == n or i.endswith("." + n)) for n in named]
            if w.type[0] == "many":
                self.tell(x, name, Many(tuple(h for h in hits if h != NONE), False))
            elif hits:
                self.tell(x, name, hits[0])
            self.all[x].written.setdefault(name, (", ".join(map(str, as_list(v))), str(getattr(v, "at", ""))))
        for x, t in self.all.items():
            for name, w in words.kinds[t.kind].items():
                if w.back:
                    above = {o.cell.get(u) for o in self.all.values() if o.kind == t.kind for u, v in words.kinds[t.kind].items() if v.up}
                    self.tell(x, name, Many(tuple(i for i, o in self.all.items() if o.kind == w.type[1] and o.cell.get(w.back) == x),
                                             any(o.kind == w.type[1] and o.cell.get(w.back) is None and i not in above for i, o in self.all.items())))

    @classmethod
    def trusted(cls, words: Words, graph: dict) -> "Things":
        """The things of a graph as it claims them, where there is no job to compare them with."""
        self = cls.__new__(cls)
        self.words, self.all = words, {}
        facts = [n["data"] | {"value": n["value"], "unit": n["unit"]} for n in graph["nodes"] if n["kind"] == "fact"]
        for x in ["job", *(n["data"].get("of") or n["data"].get("on", "job") for n in graph["nodes"] if n["kind"] in ("fact", "rule", "pick"))]:
            self.believe(x.split("@")[0])
        for d in facts:
            x, name, text = d["of"].split("@")[0], d["is"], d["value"]
            t, w = self.all[x], words.kinds[self.all[x].kind][name]
            if w.type[0] == "many" and not (d["open"] and d["origin"] != "told"):
                t.cell[name] = Many(tuple(text.split(", ")) if text not in ("", "unknown") else (), d["open"])
                for y in t.cell[name].ids:
                    self.believe(y)
            elif d["origin"] == "told" or text == "none":
                t.cell[name] = (NONE if text == "none" and w.type[0] != "choice" else None if text == "unknown" else read(text, d["unit"]) if w.type[0] == "q" else
                                text == "yes" if w.type[0] == "flag" else text)
            if d["origin"] == "told":
                t.told.add(name)
            if "as written" in d:
                t.written[name] = d["as written"], d["at"]
            if "looked" in d:
                t.looked.add(name)
            if w.type[0] == "ref" and "." in text:
                self.believe(text)
        return self

    def believe(self, x: str) -> None:
        """Take it that there is such a thing, and all it is a part of."""
        if x in self.all:
            return
        kind, whole, (up, _, name) = "job", None, x.rpartition(".")
        for holder, part in ((up or "job", name), (up.rpartition(".")[0] or "job", up.rpartition(".")[2])) if x != "job" else ():
            self.believe(holder) if holder == "job" or "." in holder else None   # a part by its own name, or a member of a list
            w = self.words.kinds[self.all[holder].kind].get(part) if holder in self.all else None
            if w is not None and w.part:
                kind, whole = w.type[1], holder
                if w.type[0] == "ref":
                    self.all[whole].cell[part] = x
                break
        self.thing(x, kind, name, whole)
        for part, w in self.words.kinds[kind].items():
            if w.part == "one":
                self.all[x].cell[part] = f"{x}.{part}"

    def tell(self, x: str, name: str, v) -> None:
        self.all[x].cell[name] = v
        self.all[x].told.add(name)

    def make(self, x: str, kind: str, name: str, body, whole: str | None) -> str:
        words = self.words.kinds[kind]
        self.thing(x, kind, name, whole)
        said = {self.canonical(kind, str(k).strip()): v for k, v in body.items()}
        for name, v in said.items():
            w = words[name]
            if w.type[0] in ("ref", "many") and not w.part:
                self.links.append((x, name, w, v))
            elif not w.part:
                self.fact(x, name, w, str(v).strip(), str(v.at))
        for name, w in words.items():
            sub, v = name if x == "job" else f"{x}.{name}", said.get(name)
            if w.part in ("many", "open many"):
                open_ = w.part == "open many" or (v is None and x != "job") or (isinstance(v, list) and "and more" in v)
                items = [] if v is None or v == "none" else list(v.items()) if isinstance(v, dict) else list(enumerate((b for b in v if b != "and more"), 1))
                self.tell(x, name, Many(tuple(self.make(f"{sub}.{n}", w.type[1], str(n), b, x) for n, b in items), open_ and v != "none"))
            elif w.part and v is not None and str(v) == "none":
                self.tell(x, name, NONE)
            elif w.part == "one" or (w.part and isinstance(v, dict)):
                self.tell(x, name, self.make(sub, w.type[1], name, v if isinstance(v, dict) else {}, x))
        return x

    def thing(self, x: str, kind: str, name: str, whole: str | None) -> Box:
        """A thing of which nothing is told yet but what it is a part of."""
        words, t = self.words.kinds[kind], Box(kind=kind, name=name, whole=whole, cell={}, told=set(), written={}, looked=set())
        self.all[x] = t
        for link, v in ((self.all[whole].kind if whole else "", whole), ("job", "job")):
            if link in words and x != "job":
                self.tell(x, link, v)
        for name, w in words.items():   # a part of one whole has no other
            if whole and w.type[0] == "ref" and not w.part and name not in t.cell and any(p.part and p.type[1] == kind for p in self.words.kinds.get(name, {}).values()):
                t.cell[name] = NONE
        return t

    def canonical(self, kind: str, name: str) -> str:
        forms = (name, name.lower(), name.replace("_", " "), name.replace("-", " "))
        return next(n if n in self.words.kinds[kind] else self.words.also[kind][n] for n in forms if n in self.words.kinds[kind] or n in self.words.also[kind])

    def fact(self, x: str, name: str, w: Box, text: str, at: str) -> None:
        """What was told, as a value; synonyms are those of the words, and a few ways to write a size."""
        t, low = self.all[x], text.lower()
        if low in ("unknown", "not known", "?", "unsure"):
            return
        if w.may and low in (w.may, "none", "no marking", "none found"):
            t.looked.add(name)
            t.written[name] = w.may, at
            return
        if w.type[0] == "q":
            v = (amount(w.means.get(text, text), w.unit),) * 2
        elif w.type[0] == "flag":
            v = low in ("yes", "true", "y")
        elif w.type[0] == "choice":
            known = {c.lower(): c for c in w.type[1]} | {k.lower(): c for k, c in w.means.items()}
            bare = low.replace("nema ", "")
            v = next(known[f] for f in (low, low.replace("_", " "), re.sub(r"^(a|an|the) ", "", low), bare, re.sub(r"(?<=\d)r$", "", bare)) if f in known)
        elif w.type[0] == "row":
            size = re.sub(r"\s*(awg|gauge|ga)\.?$", " AWG", re.sub(r"\s*(mcm|kcmil)\.?$", " kcmil", re.sub(r"^(no\.?|#|number)\s*", "", low)))
            v = next(f for f in (text, size, size + " AWG", size.replace(" in", ""), size.rstrip('"')) if f in self.tables(w.type[1]).order())
        else:
            v = text
        self.tell(x, name, v)
        t.written[name] = text, at

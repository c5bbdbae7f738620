"""An independent proof check: does every node of a derivation graph follow from the nodes its edges lead to?

It shares no code with what builds the graph: it reads the raw items of the packs and the raw job, with a parser, numbers
(fractions, in units of its own table), look-ups and three-valued answers of its own. Each node is recomputed from the
values that the nodes below it claim, and must have exactly the edges its line reads; leaves are compared with the job
and the CSV files. So a graph that is accepted is right by induction, from the leaves up. The wording (`text`) is not judged.
"""

from __future__ import annotations

import re
from collections import Counter, namedtuple
from fractions import Fraction as F


PASSES, FAILS, TELL, ADVICE, OFF, SET_ASIDE = "passes", "fails", "cannot tell", "advice", "does not apply", "exception applies"
LAYERS = {"code": "law", "manufacturer": "maker", "local": "local", "practice": "practice"}
JUDGING, FILLING = ("must", "must not", "should"), ("gives", "reckons", "assumes", "designs")
NONE, NOTHING, SOME = "(none)", "(nothing)", (F(0), None)   # absent; beyond something absent; an unknown amount
Many = namedtuple("Many", "ids open")
At = namedtuple("At", "rule x kind m mkind table row")       # where a line is: its rule and thing, the member, the table row
TableSource = namedtuple("TableSource", "d path")            # the YAML item of a table, and its CSV file

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


def span(v) -> tuple:
    return v if isinstance(v, tuple) and not isinstance(v, Many) else (None, None)


def between(lo, hi):
    return None if lo is None and hi is None else (lo, hi)


def arith(op: str, a, b):
    """Interval arithmetic; zero times an unknown amount is zero, and nothing is divided by what may be zero."""
    if NOTHING in (a, b):
        return NOTHING
    if op == "±":
        return between(span(arith("-", a, b))[0], span(arith("+", a, b))[1])
    (al, ah), (bl, bh) = span(a), span(b)
    if op in "+-":
        bl, bh = (bl, bh) if op == "+" else (None if bh is None else -bh, None if bl is None else -bl)
        return between(None if None in (al, bl) else al + bl, None if None in (ah, bh) else ah + bh)
    if op == "÷":
        if bl is None or bl < 0 or (bl == 0 and not bh):
            return None
        b = bl, bh = (F(0) if bh is None else 1 / bh, None if bl == 0 else 1 / bl)
    if a is None or b is None:
        return None
    if (0, 0) in (a, b):
        return F(0), F(0)
    if None not in (al, ah, bl, bh):
        corners = [x * y for x in (al, ah) for y in (bl, bh)]
        return min(corners), max(corners)
    return (al * bl, None if None in (ah, bh) else ah * bh) if al is not None and bl is not None and al >= 0 and bl >= 0 else None


def extreme(least: bool, vs: list):
    if NOTHING in vs:
        return NOTHING
    los, his = [span(v)[0] for v in vs], [span(v)[1] for v in vs]
    if least:
        return between(None if None in los else min(los), min((h for h in his if h is not None), default=None))
    return between(max((lo for lo in los if lo is not None), default=None), None if None in his else max(his))


def fold(fn: str, taken: list, open_: bool, default):
    """Total, count, smallest or largest of (surely counted?, amount)."""
    es = [(sure is True, *span(v)) for sure, v in taken]
    lows, highs, sure = [lo for _, lo, _ in es], [hi for *_, hi in es], [e for e in es if e[0]]
    if fn in ("total", "count"):
        hi = None if open_ or None in highs else sum(highs, F(0))
        if all(lo is not None and lo >= 0 for lo in lows):
            return between(sum((lo for _, lo, _ in sure), F(0)), hi)
        return between(None if hi is None or None in lows else sum(lows, F(0)), hi)
    if not es and not open_:
        return NOTHING if default is None else default
    best, near, far = (min, 1, 2) if fn == "smallest" else (max, 2, 1)
    reach = [e[near] for e in es] + ([span(default)[near - 1]] if default is not None and not sure else [])
    edge = None if open_ or not reach or None in reach else best(reach)
    known = [e[far] for e in sure if e[far] is not None]
    surely = best(known) if known else span(default)[0] if default is not None and fn == "largest" else None
    return between(edge, surely) if fn == "smallest" else between(surely, edge)


def compare(op: str, a, b):
    if NOTHING in (a, b):
        return NOTHING
    (al, ah), (bl, bh) = span(a), span(b)
    if op in ("<", "<="):
        (al, ah), (bl, bh), op = (bl, bh), (al, ah), op.replace("<", ">")
    over, under = None not in (al, bh) and al - bh, None not in (ah, bl) and ah - bl   # least and greatest difference, where known
    if op in ("=", "!="):
        apart = (over is not False and over > 0) or (under is not False and under < 0)
        same = None not in (al, bl) and al == ah == bl == bh
        return None if not (apart or same) else apart == (op == "!=")
    yes, no = (over is not False and (over >= 0 if op == ">=" else over > 0)), (under is not False and (under < 0 if op == ">=" else under <= 0))
    return True if yes else False if no else None


def both(vs):
    return False if any(v is False or v == NOTHING for v in vs) else None if any(v is None for v in vs) else True


def either(vs):
    return True if any(v is True for v in vs) else None if any(v is None for v in vs) else False


def opposite(v):
    return v if v is None or v == NOTHING else not v

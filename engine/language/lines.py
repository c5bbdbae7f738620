"""The grammar of one line: text to a small tree of tuples, faults with a place and a remedy.

The tree (first item is the kind of node):

    num TEXT UNIT · size TEXT · word TEXT · path NAMES (last first: "a of b" is ("a", "b"))
    bin OP A B · least (A ...) · most (A ...) · over FN BODY PATH WHERE DEFAULT
    look COLUMN TABLE ((KEY, A) ...) WHERE · step up|down A TABLE · round up|down|half up A STEP ·
    root A PLACES not C · quant every|some|no PATH C · cmp OP A B · gauge A SIZE smaller|larger · is
    NEGATED A (WORD ...) among NEGATED A TABLE COLUMN KEYS · flag A · and (C ...) · or (C ...)
"""

from __future__ import annotations

import functools
import re

from ..basics.errors import Fault, Place
from ..basics.limits import BRACKETS, DIGITS, LINE
from ..basics.reading import straight
from ..basics.units import METRIC, POINTS, UNITS, unit_of

RESERVED = frozenset(
    "of over where by from is not and or total smallest largest smaller larger how stepped rounded "
    "square among every some no".split()
)
_ONE_TEST = "a line has one comparison: write two lines"
_SAME = {"≥": ">=", "≤": "<=", "≠": "!=", "*": "×", "/": "÷", "−": "-"}


@functools.cache
def _token() -> re.Pattern:
    """One word, number, size, sign of a line; made when a line is first read, which a start from
    the cache never does.
    """
    unit = "|".join(
        re.escape(u)
        for u in sorted([*UNITS, *POINTS], key=len, reverse=True)
        if u not in ("count", "date")
    )
    return re.compile(
        r"\s*(?:(?P<date>\d{4}-\d\d-\d\d)(?!\w)"
        r"|(?P<size>\d+(?:/0)?\s?(?:AWG|kcmil))(?!\w)"
        r"|(?P<num>(?:\d{1,3}(?:,\d{3})+(?!\d)|\d+)(?:\.\d+)?)(?:\s*(?P<unit>"
        + unit
        + r")(?![\w²³°/]))?"
        r"|'(?P<quoted>[^']*)'"
        r"|(?P<op>>=|<=|!=|[=<>+×÷*±()−|≥≤≠/]|-(?=\s))"
        r"|(?P<word>[^\s\d()+×÷*±,=<>−|'≥≤-][^\s()+×÷*±,=<>|≥≤]*))"
    )


def parse_line(text: str, what: str = "sum", at: Place | None = None):
    """Parse *text* as a formula (``sum``) or a condition (``cond``)."""
    try:
        return _tree(str(text), what)
    except Fault:  # told again, with its place
        return _parsed(_Line(str(text), at or getattr(text, "at", Place())), what)


@functools.lru_cache(5000)
def _tree(text: str, what: str):
    """A line is read for what it says and for its digest, and many a line is said by several
    rules.
    """
    return _parsed(_Line(text, Place()), what)


def _parsed(line: _Line, what: str):
    node = line.cond() if what == "cond" else line.sum()
    if line.k < len(line.tokens):
        rest = line.text[line.tokens[line.k][3] :]
        word = rest.split()[0]
        if unit := line.meant_unit(line.k):
            raise Fault(
                "unknown-unit",
                line.place(line.k),
                f'in "{line.text}": no unit is called "{word}"',
                unit,
            )
        todo = {
            ">=": _ONE_TEST,
            "<=": _ONE_TEST,
            "<": _ONE_TEST,
            ">": _ONE_TEST,
            "and": "write the conditions as a list, one to a line",
            "or": 'write "any of:" and a list, or A | B after "is"',
            "shall": 'write "must"',
            "if": 'write "when:"',
        }.get(word, "see the grammar in kb/README.md")
        raise Fault(
            "left-over", line.place(line.k), f'in "{line.text}": "{rest}" is left over', todo
        )
    return node


def tokens(text: str) -> list[tuple]:
    """(kind, value, unit, where it begins, where it ends) of every word, number and sign of a
    line.
    """
    return _Line(text, Place()).tokens


@functools.cache
def _choices(choices: tuple[str, ...]) -> dict[str, list]:
    """*choices* of words or signs by the first of each: (choice, what follows that)."""
    out: dict[str, list] = {}
    for c in choices:
        first, *rest = c.split()
        out.setdefault(first, []).append((c, rest))
    return out


class _Line:
    def __init__(self, text: str, at: Place) -> None:
        text = straight(text)
        self.text, self.at, self.k, self.tokens, self.deep = text, at, 0, [], 0
        if len(text) > LINE:
            raise Fault(
                "line-too-long",
                at,
                f"this line has {len(text):,} characters, and {LINE:,} are read",
                "divide it into steps",
            )
        i, end, token = 0, len(text.rstrip()), _token()
        while i < end:
            m = token.match(text, i)
            if not m or m.end() == i:
                raise Fault(
                    "cannot-read",
                    self._at(i),
                    f'in "{text}": "{text[i:].strip()}" cannot be read',
                    self._why(text[i:].strip()),
                )
            i = m.end()
            kind = "num" if m["num"] else m.lastgroup
            value = _SAME.get(m[kind], m[kind])
            if kind == "num" and len(value) > DIGITS:
                raise Fault(
                    "number-too-long",
                    self._at(m.start(kind)),
                    f"a number of {len(value)} characters is not read",
                    "write one that somebody could measure",
                )
            if kind == "date":
                self.tokens.append(("num", value, "date", m.start(kind), m.end()))
            else:
                self.tokens.append(
                    (kind, value, m["unit"] if kind == "num" else None, m.start(kind), m.end())
                )

    @staticmethod
    def _why(rest: str) -> str:
        if rest[0] == "-":
            return "put a space on both sides of a minus"
        if rest[0] in "'":
            return "close the quotation mark"
        if rest[0] == ",":
            return "write a decimal with a point, and thousands as 1,500; names hold no commas"
        return "see the grammar in kb/README.md"

    def meant_unit(self, k: int) -> str:
        """What to write for the unit that a person meant by the word at *k*, if it stands right
        behind a number.
        """
        if (
            not 0 < k < len(self.tokens)
            or self.tokens[k - 1][0] != "num"
            or self.tokens[k - 1][2]
            or self.tokens[k][0] not in ("word", "quoted")
        ):
            return ""
        word = self.tokens[k][1]
        if word in RESERVED:
            return ""
        if metric := METRIC.get(word.split()[0]):
            return metric
        unit = unit_of(word)
        return (
            f"write {self.tokens[k - 1][1]} {unit}"
            if unit
            else "units here: "
            + ", ".join(u for u in [*UNITS, *POINTS] if u not in ("count", "date"))
        )

    def deeper(self) -> None:
        self.deep += 1
        if self.deep > BRACKETS:
            self.fault(
                "line-too-deep",
                f"more than {BRACKETS} brackets or conditions stand within each other",
                "divide it into steps",
            )

    def _at(self, offset: int) -> Place:
        return self.at.along(offset)

    def place(self, k: int) -> Place:
        return self._at(self.tokens[k][3]) if k < len(self.tokens) else self._at(len(self.text))

    def fault(self, code: str, what: str, todo: str = "see the grammar in kb/README.md"):
        raise Fault(code, self.place(self.k), f'in "{self.text}": {what}', todo)

    def peek(self, *words: str) -> bool:
        ts = self.tokens[self.k : self.k + len(words)]
        return len(ts) == len(words) and all(
            t[0] in ("word", "op") and t[1] == w for t, w in zip(ts, words)
        )

    def take(self, *choices: str) -> str | None:
        if self.k == len(self.tokens):
            return None
        for c, rest in _choices(choices).get(word := self.tokens[self.k][1], ()):
            if self.peek(word, *rest):
                self.k += 1 + len(rest)
                return c
        return None

    def need(self, *choices: str) -> str:
        got = self.take(*choices)
        if not got:
            if unit := self.meant_unit(self.k):
                self.fault("unknown-unit", f'no unit is called "{self.tokens[self.k][1]}"', unit)
            found = (
                f' before "{self.tokens[self.k][1]}"'
                if self.k < len(self.tokens)
                else " at the end"
            )
            self.fault("expected", "expected " + " or ".join(f'"{c}"' for c in choices) + found)
        return got

    def name(self) -> str:
        start = self.k
        while (
            self.k < len(self.tokens)
            and self.tokens[self.k][0] == "word"
            and self.tokens[self.k][1] not in RESERVED
        ):
            self.k += 1
        if self.k == start:
            found = (
                f' before "{self.tokens[start][1]}"' if start < len(self.tokens) else " at the end"
            )
            self.fault("name-expected", "expected the name of a fact" + found)
        return " ".join(t[1] for t in self.tokens[start : self.k])

    def path(self):
        names = [self.name()]
        while self.take("of"):
            names.append(self.name())
        return ("path", tuple(names))

    # ---- formulas
    def sum(self):
        self.deeper()
        a = self.product()
        while op := self.take("+", "-", "±"):
            a = ("bin", op, a, self.product())
        self.deep -= 1
        return a

    def product(self):
        a = self.atom()
        while op := self.take("×", "÷"):
            a = ("bin", op, a, self.atom())
        return a

    def atom(self):
        a = self.bare()
        while True:
            if self.take("stepped"):
                d = self.need("up", "down")
                self.need("in")
                a = ("step", d, a, self.name())
            elif self.take("rounded"):
                how = self.need("half up", "up", "down")
                self.need("to")
                step = self.bare()
                if step[0] != "num":
                    self.fault(
                        "number-expected", 'after "rounded … to" stands a number with its unit'
                    )
                a = ("round", how, a, step)
            else:
                return a

    def bare(self):
        if self.k >= len(self.tokens):
            self.fault("ends-early", "something is missing at the end")
        kind, text, unit, *_ = self.tokens[self.k]
        if kind == "num":
            self.k += 1
            return ("num", text.replace(",", ""), unit)
        if kind == "size":
            self.k += 1
            return ("size", re.sub(r"\s*(AWG|kcmil)", r" \1", text))
        if kind == "quoted":
            self.k += 1
            return ("word", text)
        if self.take("("):
            a = self.sum()
            self.need(")")
            return a
        if which := self.take("smaller of", "larger of"):
            self.need("(")
            xs = [self.sum()]
            while self.take("and"):
                xs.append(self.sum())
            self.need(")")
            return ("least" if which == "smaller of" else "most", tuple(xs))
        if fn := self.take("total", "smallest", "largest"):
            start = self.k
            if fn == "smallest" and self.k < len(self.tokens) and self.tokens[self.k][0] == "word":
                column = self.name()
                if self.take("from"):
                    return self.look(column, True)
                self.k = start
            body = self.sum()
            self.need("over")
            return self.over(fn, body)
        if self.take("how many"):
            return self.over("count", None)
        if self.take("square root to"):
            n = self.bare()
            self.need("places")
            self.need("of")
            if n[0] != "num" or n[2] or not n[1].isdigit() or int(n[1]) > 12:
                self.fault(
                    "number-expected", "a root is taken to a whole number of places, at most 12"
                )
            return ("root", self.bare(), int(n[1]))
        name = self.name()
        if self.take("from"):
            return self.look(name, False)
        names = [name]
        while self.take("of"):
            names.append(self.name())
        return ("path", tuple(names))

    def over(self, fn: str, body):
        path = self.path()
        where = self.cond() if self.take("where") else None
        default = None
        if fn in ("smallest", "largest") and self.take("or"):
            default = self.bare()
        return ("over", fn, body, path, where, default)

    def look(self, column: str, backwards: bool):
        table, keys = self.name(), self.keys()
        where = None
        if backwards:
            self.need("where")
            where = self.cond()
        return ("look", column, table, keys, where)

    def keys(self) -> tuple:
        keys = []
        if self.take("by"):
            while True:
                k = self.name()
                if any(k == said for said, _ in keys):
                    self.fault("written-twice", f'the key "{k}" is named twice', "keep one of them")
                keys.append((k, self.sum() if self.take("=") else ("path", (k,))))
                if not self.take("and"):
                    break
        return tuple(keys)

    # ---- conditions
    def cond(self):
        self.deeper()
        c = self._cond()
        self.deep -= 1
        return c

    def _cond(self):
        if self.take("not"):
            return ("not", self.cond())
        if fn := self.take("every", "some", "no"):
            path = self.path()
            self.need("where")
            return ("quant", fn, path, self.cond())
        if self.k < len(self.tokens) and self.tokens[self.k][1] == "if":
            self.fault("left-over", '"if" does not stand here', 'write "when:"')
        a = self.sum()
        if op := self.take(">=", "<=", "!=", "=", "<", ">"):
            if self.peek("=") or self.peek(">") or self.peek("<"):
                self.fault(
                    "expected",
                    f'"{op}{self.tokens[self.k][1]}" is no comparison',
                    "write >= <= > < = or !=",
                )
            b = self.sum()
            if b[0] == "size" and op != "=" and op != "!=":
                self.fault(
                    "gauge-order",
                    f'"{op} {b[1]}" reads both ways, since gauge numbers run backwards',
                    f'write "is {b[1]} or smaller" or "is {b[1]} or larger"',
                )
            return ("cmp", op, a, b)
        if self.take("is"):
            negated = bool(self.take("not"))
            if self.take("among"):
                n = self.name()
                if self.take("from"):
                    return ("among", negated, a, self.name(), n, self.keys())
                return ("among", negated, a, n, None, ())
            if self.k < len(self.tokens) and self.tokens[self.k][0] == "size":
                size = self.bare()[1]
                if self.take("or"):
                    way = self.need("smaller", "larger")
                    g = ("gauge", a, size, way)
                    return ("not", g) if negated else g
                return ("is", negated, a, (size,))
            return ("is", negated, a, self.words())
        return ("flag", a)

    def words(self) -> tuple:
        """The choices after `is`: raw text up to a bracket, a default or the end, parted by |."""
        if self.k >= len(self.tokens):
            self.fault("is-what", '"is" what?', "name one choice, or several parted by |")
        start = self.tokens[self.k][3]
        depth = 0
        while self.k < len(self.tokens):
            kind, value, *_ = self.tokens[self.k]
            if value == "(" and kind == "op":
                depth += 1
            elif value == ")" and kind == "op":
                if not depth:
                    break
                depth -= 1
            elif kind == "word" and value == "or":
                if self.k + 1 < len(self.tokens) and self.tokens[self.k + 1][0] == "num":
                    break
                self.fault("or-in-choices", '"or" does not part choices', "write A | B")
            elif kind == "word" and value == "and":
                self.fault(
                    "and-in-choices",
                    '"and" does not join conditions',
                    "write the conditions as a list, one to a line",
                )
            self.k += 1
        stop = self.tokens[self.k][3] if self.k < len(self.tokens) else len(self.text)
        return tuple(w.strip().strip("'") for w in self.text[start:stop].split("|"))


def names_in(node) -> set[tuple]:
    """Every path in a parsed line."""
    out: set[tuple] = set()
    if isinstance(node, tuple):
        if node[:1] == ("path",):
            out.add(node[1])
        for n in node:
            out |= names_in(n)
    return out

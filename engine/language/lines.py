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
from typing import Any, NamedTuple, NoReturn, TypeAlias

from ..basics.errors import Fault, Place
from ..basics.limits import BRACKETS, DIGITS, LINE
from ..basics.reading import place_of, straight
from ..basics.units import METRIC, POINTS, UNITS, unit_of

Node: TypeAlias = tuple[Any, ...]  # a piece of a line: its kind, and what the list above says

RESERVED = frozenset(
    "of over where by from is not and or total smallest largest smaller larger how stepped rounded "
    "square among every some no".split()
)
_GRAMMAR = "see the grammar in kb/README.md"
_ONE_TEST = "a line has one comparison: write two lines"
_IN_QUOTES = "write {}; one choice with that word in it stands in quotes: is 'old or new'"
YEAR = "year"  # of a date, and no name of a fact
# what to do about what goes on where a line could end
_LEFT_OVER = {
    ">=": _ONE_TEST,
    "<=": _ONE_TEST,
    "<": _ONE_TEST,
    ">": _ONE_TEST,
    "and": "write the conditions as a list, one to a line",
    "or": 'write "any of:" and a list, or A | B after "is"',
    "shall": 'write "must"',
    "if": 'write "when:"',
}
_SAME = {"≥": ">=", "≤": "<=", "≠": "!=", "*": "×", "/": "÷", "−": "-"}


class Token(NamedTuple):
    """One word, number, size or sign of a line.

    >>> tokens("rating >= 20 A")[2].unit
    'A'
    """

    kind: str  # num, size, quoted, op, word; end behind the last
    value: str
    unit: str | None
    begins: int
    ends: int


@functools.cache
def _token() -> re.Pattern[str]:
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


def parse_line(text: str, what: str = "sum", at: Place | None = None) -> Node:
    """Parse *text* as a formula (``sum``) or a condition (``cond``).

    Raises:
        Fault: *text* is none; where in it, and what to write instead.

    >>> parse_line("load × 125 %")
    ('bin', '×', ('path', ('load',)), ('num', '125', '%'))
    >>> parse_line("rating of breaker >= 20 A", "cond")
    ('cmp', '>=', ('path', ('rating', 'breaker')), ('num', '20', 'A'))
    >>> parse_line("load × (2", "sum")
    Traceback (most recent call last):
    whywire.engine.basics.errors.Fault: ?:1:10: in "load × (2": expected ")" at the end
        see the grammar in kb/README.md
    """
    try:
        return _tree(str(text), what)
    except Fault:  # told again, with its place
        return _parsed(_Line(str(text), at or place_of(text)), what)


@functools.lru_cache(5000)
def _tree(text: str, what: str) -> Node:
    """A line is read for what it says and for its digest, and many a line is said by several
    rules.
    """
    return _parsed(_Line(text, Place()), what)


def _parsed(line: _Line, what: str) -> Node:
    """The whole of *line*, to its end."""
    node = line.cond() if what == "cond" else line.sum()
    if line.here.kind == "end":
        return node
    rest = line.text[line.here.begins :]
    word = rest.split()[0]
    unit = line.meant_unit()
    if unit:
        line.fault("unknown-unit", f'no unit is called "{word}"', unit)
    line.fault("left-over", f'"{rest}" is left over', _LEFT_OVER.get(word, _GRAMMAR))


def tokens(text: str) -> list[Token]:
    """Every word, number and sign of a line.

    Raises:
        Fault: a part of *text* is none of them.

    >>> [(token.kind, token.value, token.unit) for token in tokens("load × 125 %")]
    [('word', 'load', None), ('op', '×', None), ('num', '125', '%')]
    """
    return _Line(text, Place()).tokens[:-1]


@functools.cache
def _choices(choices: tuple[str, ...]) -> dict[str, list[tuple[str, list[str]]]]:
    """*choices* of words or signs by the first of each: (choice, what follows that)."""
    out: dict[str, list[tuple[str, list[str]]]] = {}
    for choice in choices:
        first, *rest = choice.split()
        out.setdefault(first, []).append((choice, rest))
    return out


class _Line:
    """A line while it is read: its tokens, and how far the reading has come."""

    def __init__(self, text: str, at: Place) -> None:
        self.text, self.at, self.position, self.deep = straight(text), at, 0, 0
        self.joined = 0  # in how many lists of conditions after `where` this stands
        if len(self.text) > LINE:
            raise Fault(
                "line-too-long",
                at,
                f"this line has {len(self.text):,} characters, and {LINE:,} are read",
                "divide it into steps",
            )
        end = len(self.text)
        # behind the last stands one that is none, so that every look ahead finds something
        self.tokens = [*self._tokens(), Token("end", "", None, end, end)]
        self.here = self.tokens[0]  # the token that is read next, that at position

    def _tokens(self) -> list[Token]:
        text, pattern, out = self.text, _token(), []
        i, end = 0, len(text.rstrip())
        while i < end:
            found = pattern.match(text, i)
            if not found or found.end() == i:
                rest = text[i:].strip()
                what = f'in "{text}": "{rest}" cannot be read'
                raise Fault("cannot-read", self.at.along(i), what, self._why(rest))
            i = found.end()
            kind = "num" if found["num"] else str(found.lastgroup)
            value = _SAME.get(found[kind], found[kind])
            if kind == "num" and len(value) > DIGITS:
                raise Fault(
                    "number-too-long",
                    self.at.along(found.start(kind)),
                    f"a number of {len(value)} characters is not read",
                    "write one that somebody could measure",
                )
            said = (kind, value, found["unit"], found.start(kind), i)
            if kind == "date":
                said = ("num", value, "date", found.start(kind), i)
            # past Token.__new__: this is done for every word of every pack
            out.append(tuple.__new__(Token, said))
        return out

    @staticmethod
    def _why(rest: str) -> str:
        """What to do about a sign that begins nothing."""
        if rest[0] == "-":
            return "put a space on both sides of a minus"
        if rest[0] == "'":
            return "close the quotation mark"
        if rest[0] == ",":
            return "write a decimal with a point, and thousands as 1,500; names hold no commas"
        return _GRAMMAR

    # ---- where the reading stands
    def go_to(self, position: int) -> None:
        """Read on at another token."""
        self.position, self.here = position, self.tokens[position]

    def fault(self, code: str, what: str, todo: str = _GRAMMAR) -> NoReturn:
        """Tell what is wrong at the token that is read next.

        Raises:
            Fault: always.
        """
        raise Fault(code, self.at.along(self.here.begins), f'in "{self.text}": {what}', todo)

    def _before(self) -> str:
        """How a fault says where something is missing."""
        return f' before "{self.here.value}"' if self.here.kind != "end" else " at the end"

    def meant_unit(self) -> str:
        """What to write for the unit that a person meant by the word that is read next, if it
        stands right behind a number.
        """
        # before the first stands nothing, and the last is none
        before, word = self.tokens[self.position - 1], self.here.value
        if before.kind != "num" or before.unit or self.here.kind not in ("word", "quoted"):
            return ""
        if word in RESERVED:
            return ""
        metric = METRIC.get(word.split()[0])
        if metric:
            return metric
        unit = unit_of(word)
        if unit:
            return f"write {before.value} {unit}"
        return "units here: " + ", ".join(
            u for u in [*UNITS, *POINTS] if u not in ("count", "date")
        )

    def deeper(self) -> None:
        """Count brackets and conditions within each other: each is a call within a call."""
        self.deep += 1
        if self.deep > BRACKETS:
            self.fault(
                "line-too-deep",
                f"more than {BRACKETS} brackets or conditions stand within each other",
                "divide it into steps",
            )

    # ---- words and signs
    def peek(self, *words: str) -> bool:
        """Whether *words* stand here, one after the other."""
        if self.here.value != words[0]:
            return False
        ahead = self.tokens[self.position : self.position + len(words)]
        return len(ahead) == len(words) and all(
            token.kind in ("word", "op") and token.value == word
            for token, word in zip(ahead, words)
        )

    def take(self, *choices: str) -> str | None:
        """Go past the one of *choices* that stands here, and say which."""
        word = self.here.value
        for choice, rest in _choices(choices).get(word, ()):
            if self.peek(word, *rest):
                self.go_to(self.position + 1 + len(rest))
                return choice
        return None

    def need(self, *choices: str) -> str:
        """Go past the one of *choices* that must stand here."""
        got = self.take(*choices)
        if got:
            return got
        unit = self.meant_unit()
        if unit:
            self.fault("unknown-unit", f'no unit is called "{self.here.value}"', unit)
        wanted = " or ".join(f'"{choice}"' for choice in choices)
        self.fault("expected", f"expected {wanted}{self._before()}")

    def name(self) -> str:
        """The name of a fact, a kind or a table: words up to the next one that means something."""
        words: list[str] = []
        for token in self.tokens[self.position :]:
            if token.kind != "word" or token.value in RESERVED:
                break
            words.append(token.value)
        if not words:
            self.fault("name-expected", f"expected the name of a fact{self._before()}")
        self.go_to(self.position + len(words))
        return " ".join(words)

    def path(self) -> Node:
        """A of B of C."""
        return self._path_from(self.name())

    def _path_from(self, name: str) -> Node:
        names = [name]
        while self.take("of"):
            names.append(self.name())
        return ("path", tuple(names))

    # ---- formulas
    def sum(self) -> Node:
        """A formula: products, added or taken away."""
        self.deeper()
        left = self.product()
        while op := self.take("+", "-", "±"):
            left = ("bin", op, left, self.product())
        self.deep -= 1
        return left

    def product(self) -> Node:
        """Pieces that are multiplied or divided."""
        left = self.atom()
        while op := self.take("×", "÷"):
            left = ("bin", op, left, self.atom())
        return left

    def atom(self) -> Node:
        """A piece, stepped or rounded as often as is said behind it."""
        node = self.bare()
        while True:
            if self.take("stepped"):
                way = self.need("up", "down")
                self.need("in")
                node = ("step", way, node, self.name())
            elif self.take("rounded"):
                way = self.need("half up", "up", "down")
                self.need("to")
                step = self.bare()
                if step[0] != "num":
                    what = 'after "rounded … to" stands a number with its unit'
                    self.fault("number-expected", what)
                node = ("round", way, node, step)
            else:
                return node

    def bare(self) -> Node:
        """A piece by itself: what it is, its first word says."""
        if self.here.kind == "end":
            self.fault("ends-early", "something is missing at the end")
        if self.here.kind in ("num", "size", "quoted"):
            return self.literal()
        if self.take("("):
            inside = self.sum()
            self.need(")")
            return inside
        which = self.take("smaller of", "larger of")
        if which:
            return self.least_or_most(which)
        aggregate = self.take("total", "smallest", "largest")
        if aggregate:
            return self.aggregate(aggregate)
        if self.take("how many"):
            return self.over("count", None)
        if self.take("square root to"):
            return self.root()
        name = self.name()
        if name == YEAR and self.take("of"):
            return (YEAR, self.bare())
        return self.look(name, False) if self.take("from") else self._path_from(name)

    def literal(self) -> Node:
        """A number, a size, or a word in quotes."""
        token = self.here
        self.go_to(self.position + 1)
        if token.kind == "num":
            return ("num", token.value.replace(",", ""), token.unit)
        if token.kind == "size":
            return ("size", re.sub(r"\s*(AWG|kcmil)", r" \1", token.value))
        return ("word", token.value)

    def least_or_most(self, which: str) -> Node:
        """The smaller or larger of several formulas."""
        self.need("(")
        parts = [self.sum()]
        while self.take("and"):
            parts.append(self.sum())
        self.need(")")
        return ("least" if which == "smaller of" else "most", tuple(parts))

    def aggregate(self, function: str) -> Node:
        """A total, the smallest or the largest over a list; or the smallest row of a table."""
        start = self.position
        if function == "smallest" and self.here.kind == "word":
            column = self.name()
            if self.take("from"):
                return self.look(column, True)
            self.go_to(start)
        body = self.sum()
        self.need("over")
        return self.over(function, body)

    def over(self, function: str, body: Node | None) -> Node:
        """The list that an aggregate goes over: which things of it, and what where there are
        none.
        """
        path = self.path()
        where = self.conds() if self.take("where") else None
        default = None
        if function in ("smallest", "largest") and self.take("or"):
            default = self.bare()
        return ("over", function, body, path, where, default)

    def root(self) -> Node:
        """A square root, to so many places."""
        places = self.bare()
        self.need("places")
        self.need("of")
        if not _whole_number(places) or int(places[1]) > 12:
            what = "a root is taken to a whole number of places, at most 12"
            self.fault("number-expected", what)
        return ("root", self.bare(), int(places[1]))

    def look(self, column: str, backwards: bool) -> Node:
        """A look-up of *column*; backwards it goes by what must hold of the row."""
        table, keys = self.name(), self.keys()
        where = None
        if backwards:
            self.need("where")
            where = self.conds()
        return ("look", column, table, keys, where)

    def keys(self) -> tuple[tuple[str, Node], ...]:
        """What a look-up goes by: a key stands for the fact of its name where nothing is said."""
        keys: list[tuple[str, Node]] = []
        more = self.take("by")
        while more:
            key = self.name()
            if any(key == said for said, _ in keys):
                self.fault("written-twice", f'the key "{key}" is named twice', "keep one of them")
            keys.append((key, self.sum() if self.take("=") else ("path", (key,))))
            more = self.take("and")
        return tuple(keys)

    # ---- conditions
    def cond(self) -> Node:
        """A condition."""
        self.deeper()
        node = self._cond()
        self.deep -= 1
        return node

    def conds(self) -> Node:
        """What must be so after `where`: a condition, or several with `and` between them."""
        self.joined += 1
        parts = [self.cond()]
        while self.take("and"):
            parts.append(self.cond())
        self.joined -= 1
        return parts[0] if len(parts) == 1 else ("and", tuple(parts))

    def _cond(self) -> Node:
        if self.take("not"):
            return ("not", self.cond())
        quantifier = self.take("every", "some", "no")
        if quantifier:
            path = self.path()
            self.need("where")
            return ("quant", quantifier, path, self.conds())
        if self.here.value == "if":
            self.fault("left-over", '"if" does not stand here', 'write "when:"')
        left = self.sum()
        op = self.take(">=", "<=", "!=", "=", "<", ">")
        if op:
            return self.comparison(op, left)
        return self.is_(left) if self.take("is") else ("flag", left)

    def comparison(self, op: str, left: Node) -> Node:
        """What *left* is compared with."""
        if self.peek("=") or self.peek(">") or self.peek("<"):
            what = f'"{op}{self.here.value}" is no comparison'
            self.fault("expected", what, "write >= <= > < = or !=")
        right = self.sum()
        if right[0] == "size" and op not in ("=", "!="):
            self.fault(
                "gauge-order",
                f'"{op} {right[1]}" reads both ways, since gauge numbers run backwards',
                f'write "is {right[1]} or smaller" or "is {right[1]} or larger"',
            )
        return ("cmp", op, left, right)

    def is_(self, left: Node) -> Node:
        """What *left* is: one of some choices, a size or beyond it, or a row of a table."""
        negated = bool(self.take("not"))
        if self.take("among"):
            name = self.name()
            if self.take("from"):
                return ("among", negated, left, self.name(), name, self.keys())
            return ("among", negated, left, name, None, ())
        if self.here.kind != "size":
            return ("is", negated, left, self.words())
        size = self.literal()[1]
        if not self.take("or"):
            return ("is", negated, left, (size,))
        gauge = ("gauge", left, size, self.need("smaller", "larger"))
        return ("not", gauge) if negated else gauge

    def words(self) -> tuple[str, ...]:
        """The choices after `is`: raw text up to a bracket, a default or the end, parted by |."""
        if self.here.kind == "end":
            self.fault("is-what", '"is" what?', "name one choice, or several parted by |")
        start, depth = self.here.begins, 0
        while self.here.kind != "end":
            if self.peek("("):
                depth += 1
            elif self.peek(")"):
                depth -= 1
            if depth < 0 or self.choices_end():
                break
            self.go_to(self.position + 1)
        choices = self.text[start : self.here.begins].split("|")
        return tuple(choice.strip().strip("'") for choice in choices)

    def choices_end(self) -> bool:
        """Whether the choices end here: `or` and an amount follow, or one more condition after
        `where`. A word that people put between choices or conditions, and that would be taken for
        a part of one, is told.
        """
        if self.peek("or"):
            if self.tokens[self.position + 1].kind == "num":
                return True
            self.fault("or-in-choices", '"or" does not part choices', _IN_QUOTES.format("A | B"))
        if self.peek("and") and self.joined:
            return True
        if self.peek("and"):
            self.fault(
                "and-in-choices",
                '"and" does not join conditions',
                _IN_QUOTES.format("the conditions as a list, one to a line"),
            )
        return False


def _whole_number(node: Node) -> bool:
    """Whether *node* is a number without a unit or a fraction."""
    return node[0] == "num" and not node[2] and node[1].isdigit()


def names_in(node: object) -> set[tuple[str, ...]]:
    """Every path in a parsed line.

    >>> sorted(names_in(parse_line("load × share of circuit")))
    [('load',), ('share', 'circuit')]
    """
    out: set[tuple[str, ...]] = set()
    if isinstance(node, tuple):
        if node[:1] == ("path",):
            out.add(node[1])
        for part in node:
            out |= names_in(part)
    return out

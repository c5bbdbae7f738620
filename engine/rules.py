"""A rule of the knowledge base, read and type-checked: every line a typed expression, every name known."""

from __future__ import annotations

import functools
import re
from decimal import Decimal
from fractions import Fraction

from . import expressions as ex
from .errors import Collector, Fault, Place, suggest
from .limits import CONDITIONS, EXAMPLES
from .lines import RESERVED, parse_line
from .reading import Mapping, Text, digest, no_name, pieces, place_of
from .tables import Table
from .units import DAY, NONE_DIM, POINT, POINTS, SHOWN_AS, UNITS, dimension, multiply_dims, parse_quantity, to_base
from .words import Words, a_noun, as_list

JUDGING = ("must", "must not", "should")
FILLING = ("gives", "reckons", "assumes", "designs")
VERBS = (*JUDGING, *FILLING, "tries", "refers", "warns", "lacks")
LAYERS = {"code": "law", "manufacturer": "maker", "local": "local", "practice": "practice"}
EDITIONS = ("2017", "2020", "2023", "2026")
KEYS = ("rule", "says", "about", "when", *VERBS, "exception to", "steps", "picks", "leaving out", "also", "at", *LAYERS,
        "because", "doubt", "limits", "examples", "answers", "withdrawn", "scope")
LINES = ("rule", "says", "about", *(v for v in VERBS if v not in FILLING and v != "tries"), "picks", "at", "manufacturer", "local", "practice", "because", "doubt", "limits", "scope", "withdrawn")
FORMS = {**{v: "write {v}: {{fact: formula}}" for v in FILLING}, "code": "write code: {{2017: section}}"}
BELONGS = {"picks": "tries", "leaving out": "tries", "also": "tries", "at": "warns"}
PROSE = ("says", "because", "doubt", "limits", "examples", "answers", "scope", *LAYERS)   # these do not change what is concluded
FORMULAS = (*FILLING, "steps")
MEANT = ("when", *JUDGING, *FORMULAS)   # whose text is lines of the grammar
PLAIN_KEYS = ("passes", "fails", "cannot tell", "why", "means")
ANSWER_KEYS = ("passes", "fails", "cannot tell", "needed", "have", "plain", "argued", "beside", "right", "short", "hints", "asked", "rows")


def plain_text(v):
    """What was read, as plain dicts, lists and text: without the place of every piece."""
    if isinstance(v, dict):
        return Mapping((str(k), plain_text(x)) for k, x in v.items())
    return [plain_text(x) for x in v] if isinstance(v, list) else str(v)


class Fill:
    """One fact a rule fills: its word, and the line that says with what."""

    __slots__ = ("word", "expr", "text")

    def __init__(self, word, expr, text):
        self.word, self.expr, self.text = word, expr, text


class Rule:
    """One rule. ``when`` is a list of conditions, ``test`` the judging line, ``fills`` what it fills."""

    def __init__(self, d: Mapping, words: Words, tables: dict[str, Table], values: dict, ids: set[str], faults: Collector) -> None:
        self.id, self.d, self.at = str(d["rule"]), d, place_of(d)
        self._meaning: list[str] = []   # one digest, shared by every copy of this rule
        self.about = str(d.get("about", ""))
        self.steps: dict[str, ex.Local] = {}
        self.when: list[ex.Expr] = []
        self.when_text: list[str] = []
        self.test: ex.Expr | None = None
        self.fills: list[Fill] = []
        self.exception_to = [str(t) for t in as_list(d.get("exception to"))]
        self.said = str(d.get("says", self.id.replace("-", " ")))
        self.faults = faults
        self.reads_tables: frozenset[str] = frozenset()
        self.reads_values: frozenset[str] = frozenset()
        for k in d:
            if k not in KEYS:
                faults.add("rule-key", place_of(k), f'{self.id}: a rule takes no "{k}"', suggest(k, KEYS))
        verbs = [v for v in VERBS if v in d]
        if len(verbs) != 1 and not (not verbs and self.exception_to):
            said = " and ".join(f'"{v}"' for v in verbs) if verbs else "no verb"
            faults.add("rule-verb", self.at, f"{self.id} has {said}", "a rule has one of: " + ", ".join(VERBS) + ", or exception to" + ("; for \"shall\" write must" if "shall" in d else ""))
        self.verb = verbs[0] if verbs else "exception"
        self.layers = [k for k in LAYERS if k in d]
        self.layer = LAYERS[self.layers[0]] if self.layers else "practice"
        if getattr(d, "through", "") and (self.layer == "law" or self.layer == "practice" and self.verb != "should"):
            self.layer = "local"   # what an ordinance says of a practice is law there, but for advice it leaves advice
        if not self.layers:
            faults.add("no-source", self.at, f"{self.id} names no source", "add code: {2017: section}, manufacturer:, local: or practice:")
        if isinstance(d.get("code"), dict):
            for e in d["code"]:
                if e not in EDITIONS:
                    faults.add("edition", place_of(e), f'"{e}" is no edition', suggest(e, EDITIONS))
        if not d.get("says"):
            faults.add("rule-says", self.at, f"{self.id} does not say what it is", "add says: one sentence")
        if not self._forms(d):
            return
        if self.about not in words.kinds:
            faults.add("rule-about", place_of(d.get("about"), self.at), f'{self.id} is about "{self.about}", which is no kind of thing', suggest(self.about, words.kinds))
            return
        for k in as_list(d.get("leaving out")) + as_list(d.get("also")) + self.exception_to:
            if str(k) not in ids:
                faults.add("no-such-rule", place_of(k, self.at), f'{self.id} names "{k}", and there is no such rule', suggest(k, ids))
        self.c = Checker(words, tables, values, self.about, self.at)
        self._read(d, faults)
        self.reads_tables, self.reads_values = frozenset(self.c.tables_used), frozenset(self.c.values_used)
        if "answers" in d:
            with faults.catching():
                self._answers(d["answers"], ids)

    def _forms(self, d: Mapping) -> bool:
        """Whether every key has the form it must have: a line, a list of names, or a mapping of lines."""
        before = len(self.faults.items)
        if odd := no_name(self.id):
            self.faults.add("rule-name", place_of(d["rule"], self.at), f'"{self.id}" is no name for a rule: {odd}', "write plain letters, and not many")
        elif not re.fullmatch(r"[^\W\d_]+(-\w+)*", self.id) or not isinstance(d["rule"], str):
            self.faults.add("rule-name", place_of(d["rule"], self.at), f'"{self.id}" is no name for a rule', "write words joined by hyphens, as in next-size-up")
        for k, v in d.items():
            if k in LINES and not isinstance(v, str) and not (k in JUDGING and isinstance(v, dict)):
                self.faults.add("rule-form", place_of(v, self.at), f'{self.id}: "{k}" is one line', f"write {k}: and one line" + ("; several tests are several rules, or any of: [line, line]" if k in JUDGING else ""))
            elif k in FORMS and (not isinstance(v, dict) or not v or not all(isinstance(x, str) for x in v.values())):
                self.faults.add("rule-form", place_of(v, self.at), f'{self.id}: "{k}" names ' + ("sections by edition" if k == "code" else "facts"), FORMS[k].format(v=k))
            elif k in ("exception to", "leaving out", "also") and not all(isinstance(x, str) for x in as_list(v)):
                self.faults.add("rule-form", place_of(v, self.at), f'{self.id}: "{k}" names rules', f"write {k}: [rule, rule]")
            most, what = (EXAMPLES, "examples") if k == "examples" else (CONDITIONS, "lines") if k in MEANT else (0, "")
            if most and (n := len(v) if k == "examples" else pieces(v)) > most:
                self.faults.add("rule-too-long", place_of(v, self.at), f'{self.id}: "{k}" has {n:,} {what}, and {most} are read', "divide the rule, or look the words up in a table")
            if k in BELONGS and BELONGS[k] not in d:
                self.faults.add("rule-form", place_of(k, self.at), f'{self.id}: "{k}" goes with "{BELONGS[k]}", and this rule has none', f"leave it out, or write {BELONGS[k]}:")
        return len(self.faults.items) == before

    def _answers(self, said, ids: set[str]) -> None:
        """See that the sentences of the short answer name only keys, facts and rules that are there."""
        if not isinstance(said, dict):
            raise Fault("answers-form", place_of(said, self.at), f'{self.id}: "answers" names sentences', "write answers: {passes: sentence, fails: sentence}")
        for k, v in said.items():
            if k not in ANSWER_KEYS:
                self.faults.add("answers-key", place_of(k, self.at), f'{self.id}: answers take no "{k}"', suggest(k, ANSWER_KEYS))
            for i in as_list(v) if k in ("argued", "beside") else ():
                if str(i) not in ids:
                    self.faults.add("no-such-rule", place_of(i, self.at), f'{self.id} names "{i}", and there is no such rule', suggest(str(i), ids))
            if k == "plain" and isinstance(v, dict):
                for p in v:
                    if p not in PLAIN_KEYS:
                        self.faults.add("answers-key", place_of(p, self.at), f'{self.id}: plain takes no "{p}"', suggest(p, PLAIN_KEYS))
            for text in [*v.values()] if isinstance(v, dict) else as_list(v):
                self._sentence(text)

    def _sentence(self, text) -> None:
        at = place_of(text, self.at)
        if not isinstance(text, str):
            raise Fault("answers-form", at, f"{self.id}: a sentence is one line of text", "put it in quotes if it holds braces or a colon")
        rest = re.sub(r"\{([^{}]+)\}", "", text)
        if "{" in rest or "}" in rest:
            self.faults.add("answers-form", at, f'{self.id}: a brace is not closed in "{text}"', "write {fact} in braces")
        for path in re.findall(r"\{([^{}]+)\}", text):
            if path in ("margin", "needed", "have"):
                continue
            k, words = self.about, self.c.words
            names = tuple(n.strip() for n in reversed(path.split(" of ")))
            own = len(names) > 1 and names[0] == k and k not in words.kinds[k].words   # the thing itself, named by its kind
            for name in words.spell(k, names[own:]):
                w = words.kinds[k].words.get(name) if k in words.kinds else None
                if w is None:
                    todo = suggest(name, [*words.known(k), "margin", "needed", "have"]) if k in words.kinds else "turn the path round"
                    self.faults.add("unknown-word", at, f'{self.id} says "{{{path}}}", and ' + (f'{a_noun(k)} has no "{name}"' if k in words.kinds else f'nothing can be "of" it before "{name}"'), todo)
                    break
                k = w.type[1] if w.type[0] in ("ref", "many") else ""

    def _read(self, d: Mapping, faults: Collector) -> None:
        c, kind = self.c, self.c.words.kinds[self.about]
        steps = d.get("steps", {})
        if not isinstance(steps, dict):
            faults.add("rule-form", place_of(steps, self.at), f'{self.id}: "steps" names lines', "write steps: {name: formula}")
            steps = {}
        for name, text in steps.items():
            with faults.catching():
                if bad := RESERVED & set(name.split()):
                    raise Fault("step-name", place_of(name), f'{self.id}: the name of a step cannot hold the word "{sorted(bad)[0]}"', "say it another way")
                if not re.fullmatch(r"[^\W\d_][^\d()+×÷*±,=<>−|:#]*", name):
                    raise Fault("step-name", place_of(name), f'{self.id}: "{name}": a name is words, without digits or signs', "say it another way")
                if name in kind.words:
                    raise Fault("step-name", place_of(name), f'{self.id}: {a_noun(self.about)} already has "{name}"', "give the step a name of its own")
                e = c.formula(text)
                self.steps[str(name)] = c.locals[str(name)] = ex.Local(str(name), e)
        for text in as_list(d.get("when")):
            with faults.catching():
                self.when.append(self._condition(text))
                self.when_text.append(str(text) if not isinstance(text, dict) else " or ".join(map(str, text.get("any of", []))))
        if self.verb in JUDGING:
            with faults.catching():
                self.test = self._condition(d[self.verb])
        if self.verb in FILLING:
            body = d[self.verb]
            if not isinstance(body, dict):
                faults.add("rule-form", place_of(body, self.at), f'{self.id}: "{self.verb}" names facts', f"write {self.verb}: {{fact: formula}}")
                return
            for name, text in body.items():
                with faults.catching():
                    self.fills.append(self._fill(kind, name, text))
        if self.verb == "tries":
            with faults.catching():
                self._tries(d)
        if self.verb == "warns" and "at" not in d:
            faults.add("warns-at", self.at, f"{self.id} does not say at which moment it warns", "add at: before drilling")

    def _condition(self, text) -> ex.Expr:
        if isinstance(text, dict):
            extra = [k for k in text if k not in ("any of", "all of")]
            if extra or len(text) != 1:
                raise Fault("when-form", place_of(text, self.at), f"{self.id}: a condition is a line, or any of: [lines]", "write any of: [line, line]")
            k = next(iter(text))
            if not as_list(text[k]):
                raise Fault("when-form", place_of(text[k], self.at), f'{self.id}: "{k}" lists no conditions', "write any of: [line, line]")
            return ex.Junction(k == "all of", tuple(self._condition(t) for t in as_list(text[k])))
        return self.c.condition(text)

    def _fill(self, kind, name, text) -> Fill:
        c = self.c
        w = kind.words.get(str(name))
        if w is None:
            raise Fault("unknown-word", place_of(name), f'{self.id} fills "{name}", and {a_noun(self.about)} has no such fact', suggest(name, kind.words))
        t = w.type
        if t[0] == "flag" and str(text) in ("yes", "no"):
            return Fill(w, ex.Word_(t, str(text) == "yes"), str(text))
        if t[0] == "flag":
            e = c.formula(text, flag=True)
            if e.t != ex.FLAG and e.t != ("word",):
                raise Fault("wrong-type", place_of(text), f'{self.id}: "{name}" is yes or no', "write yes, no, or a condition in full")
            if e.t == ("word",):
                e.t = ex.FLAG
            return Fill(w, e, str(text))
        if t[0] == "choice" and str(text) in t[1]:
            return Fill(w, ex.Word_(t, str(text)), str(text))
        if t[0] == "row" and re.fullmatch(r"\d+(/0)? (AWG|kcmil)", str(text)):
            self._value_of(w, str(text), text)
            return Fill(w, ex.Word_(t, str(text)), str(text))
        try:
            e = c.formula(text)
        except Fault as f:
            if t[0] == "choice" and f.code == "unknown-word":
                raise Fault("not-a-choice", place_of(text), f'{self.id}: "{text}" is no choice of "{name}"', suggest(str(text), t[1])) from None
            raise
        if isinstance(e, ex.Word_) and e.t == ("word",):
            self._value_of(w, e.value, text)
        ok = (t[0] == "q" and e.t[0] == "q" and e.t[1] == t[1]) or (t[0] == "row" and e.t[0] in ("row", "word")) or (
            t[0] == "choice" and (e.t == ("word",) or (e.t[0] == "choice" and set(e.t[1]) <= set(t[1])))) or (t[0] == "text" and e.t[0] in ("word", "text"))
        if not ok:
            raise Fault("wrong-unit", place_of(text), f'{self.id} fills "{name}", which is {describe(t)}, with "{text}", which is {describe(e.t)}', "unlike units never meet")
        return Fill(w, e, str(text))

    def _value_of(self, w, value: str, text) -> None:
        """See that a word written out is a choice or a row of what it fills."""
        if w.type[0] == "choice" and value not in w.type[1]:
            raise Fault("not-a-choice", place_of(text, self.at), f'{self.id}: "{value}" is no choice of "{w.name}"', suggest(value, w.type[1]))
        table = self.c.tables.get(w.type[1]) if w.type[0] == "row" else None
        if table is not None:
            order = table.order("size" if "size" in table.keys else next(iter(table.keys)))
            if value not in order:
                raise Fault("no-such-row", place_of(text, self.at), f'{self.id}: "{value}" is no row of {table.id}', suggest(value, order))

    def _tries(self, d: Mapping) -> None:
        body = d["tries"]
        if not isinstance(body, dict) or len(body) != 1 or "picks" not in d:
            raise Fault("tries-form", place_of(body, self.at), f"{self.id}: tries names one fact and its table, picks the fact that takes the result", "write tries: {size: from TABLE by KEY} and picks: NAME")
        (name, text), = body.items()
        kind = self.c.words.kinds[self.about]
        for n in (name, d["picks"]):
            if n not in kind.words:
                raise Fault("unknown-word", place_of(n), f'{self.id}: {a_noun(self.about)} has no "{n}"', suggest(n, kind.words))
        self.c.at, self.c.src = place_of(text, self.at), text
        look = parse_line("x " + str(text), at=Place(self.c.at[0], self.c.at[1], self.c.at[2] - 2))
        if look[0] != "look" or look[4] is not None:
            raise Fault("tries-form", place_of(text), f'{self.id}: "{text}" names no table', "write from TABLE by KEY")
        self.tried, self.picks = kind.words[str(name)], kind.words[str(d["picks"])]
        self.tries_table = self.c.table(look[2])
        if str(name) not in self.tries_table.keys:
            raise Fault("unknown-column", place_of(text), f'table {look[2]} has no key "{name}"', suggest(str(name), self.tries_table.keys))
        self.tries_keys = {k: self.c.build(e) for k, e in look[3]}
        self.leaving_out = {str(i) for i in as_list(d.get("leaving out"))}
        self.also = {str(i) for i in as_list(d.get("also"))}

    def taken_over(self) -> Rule:
        """The same rule for other knowledge, which may leave out the exceptions it does not have."""
        other = object.__new__(Rule)
        other.__dict__.update(self.__dict__)
        other.exception_to = [str(t) for t in as_list(self.d.get("exception to"))]
        return other

    def __getstate__(self):
        """What a cache keeps: no examples, and text without the places of its pieces."""
        kept = {k: v for k, v in self.__dict__.items() if k not in ("c", "faults")}
        d = kept["d"] = plain_text({k: v for k, v in self.d.items() if k != "examples"})
        d.__dict__.update(self.d.__dict__)   # its place, and what it came through
        return kept

    # ---- what others ask of a rule
    def exprs(self):
        """Every top expression of the rule."""
        yield from (s.of for s in self.steps.values())
        yield from self.when
        if self.test is not None:
            yield self.test
        yield from (f.expr for f in self.fills)
        if self.verb == "tries":
            yield from self.tries_keys.values()

    def section(self, edition: str) -> str | None:
        """Its section in *edition*; None where it is not in force there."""
        return section_of(self.d, edition)

    def meaning(self) -> str:
        """Digest of what the rule says, not of how it is worded."""
        if not self._meaning:
            self._meaning.append(digest(repr(sorted(_parts(self.d).items()))))
        return self._meaning[0]


def meaning_parts(d: Mapping) -> dict[str, str]:
    """Digest of each part of a rule that changes what is concluded: 3 ft and 36 in have one, prose has none."""
    return {k: digest(said, 6) for k, said in _parts(d).items()}


def _parts(d: Mapping) -> dict[str, str]:
    """What each part of a rule that changes what is concluded says: lines by what they mean, anything else by its words."""
    return {str(k): repr(_exact([v] if k == "when" and isinstance(v, str) else v, k in FORMULAS) if k in MEANT else _words(v)) for k, v in d.items() if k not in PROSE}


def _words(v):
    if isinstance(v, str):
        return " ".join(v.split())
    return [_words(x) for x in v] if isinstance(v, list) else {str(k): _words(x) for k, x in v.items()}


def _exact(v, formula: bool):
    if isinstance(v, dict):
        return {str(k): _exact(x, formula) for k, x in sorted(v.items())}
    return [_exact(x, formula) for x in v] if isinstance(v, list) else _exact_line(str(v), formula)


@functools.lru_cache(5000)
def _exact_line(text: str, formula: bool) -> str:
    """What a line means; a *formula* is a condition as well, and has been read as what it is."""
    for what in ("sum", "cond")[not formula:]:
        try:
            tree = parse_line(text, what)
            return repr(_with_values(tree if what == "cond" else ("flag", tree)))
        except Fault:
            continue
    return " ".join(text.split())


def _with_values(n):
    """A parsed line with its numbers in the base of what they measure."""
    if n.__class__ is not tuple:
        return n
    if n[:1] != ("num",):
        return tuple([_with_values(k) for k in n])
    return n if n[2] == "date" else ("num", *_base(n[1], n[2] or "count"))


@functools.lru_cache(1000)
def _base(number: str, unit: str) -> tuple:
    return str(to_base(Fraction(number), unit)), dimension(unit)


AT_LEAST = {"at least": ">=", "at most": "<=", "more than": ">", "less than": "<", "over": ">", "under": "<", "not more than": "<=", "not less than": ">="}


def section_of(d: Mapping, edition: str) -> str | None:
    """The section an item names in *edition*: each holds until the next edition listed; `gone` ends it.

    What a pack amended cites the pack first: "Ordinance 7 §2, amending 110.26(A)(1)".
    """
    section, through = _section(d, getattr(d, "edition", edition)), getattr(d, "through", "")
    return f"{through}, amending {section}" if section and through else section


def _section(d: Mapping, edition: str) -> str | None:
    code = d.get("code")
    if isinstance(code, dict):
        e = max((e for e in code if e <= edition), default=None)
        return None if e is None or code[e] == "gone" else str(code[e])
    return str(next((d[k] for k in LAYERS if k in d), ""))


def describe(t: tuple) -> str:
    """A type in words."""
    return {"q": lambda: "a number" if t[1] == NONE_DIM else f"in {t[2] or SHOWN_AS.get(t[1], 'other units')}", "flag": lambda: "yes or no",
            "choice": lambda: "one of " + ", ".join(t[1]), "row": lambda: f"a row of {t[1] or 'a table'}", "ref": lambda: f"another thing ({t[1]})",
            "many": lambda: f"a list of {t[1]}", "word": lambda: "a word", "text": lambda: "text"}[t[0]]()


class Checker:
    """Turns the tree of a line into typed expressions, or says what does not fit."""

    def __init__(self, words: Words, tables: dict[str, Table], values: dict, about: str, at: Place) -> None:
        self.words, self.tables, self.values, self.about, self.at = words, tables, values, about, at
        self.tables_used: dict[str, Table] = {}    # what this rule stands on: while it stays, the rule need not be checked again
        self.values_used: dict[str, tuple] = {}
        self.locals: dict[str, ex.Local] = {}
        self.member: str | None = None
        self.row: Table | None = None
        self.src: Text | str = ""

    def formula(self, text, flag: bool = False) -> ex.Expr:
        self.line(text)
        e = self.build(parse_line(text, "cond" if flag else "sum", self.at))
        return e

    def condition(self, text) -> ex.Expr:
        self.line(text)
        e = self.cond(parse_line(text, "cond", self.at))
        return e

    def line(self, text) -> None:
        self.at, self.src = place_of(text, self.at), text
        if not isinstance(text, str):
            raise Fault("line-form", self.at, "a line of text belongs here, and this is " + ("a mapping" if isinstance(text, dict) else "a list"), "write one line; put it in quotes if it holds brackets or a colon")

    def fault(self, code: str, what: str, todo: str = ""):
        raise Fault(code, self.at, f'in "{self.src}": {what}', todo or "see the grammar in kb/README.md")

    def table(self, name: str) -> Table:
        if name not in self.tables:
            self.fault("no-such-table", f'no table is called "{name}"', suggest(name, self.tables))
        self.tables_used[name] = self.tables[name]
        return self.tables[name]

    def quantity(self, node) -> ex.Expr:
        e = self.build(node)
        if e.t[0] != "q":
            self.fault("number-expected", f"a number is wanted, and this is {describe(e.t)}")
        return e

    def same(self, a: ex.Expr, b: ex.Expr, doing: str) -> None:
        if a.t[1] != b.t[1]:
            one, other = (e.t[2] or SHOWN_AS.get(e.t[1], "another measure") for e in (a, b))
            bare = next((e for e in (b, a) if isinstance(e, ex.Num) and e.t[1] == NONE_DIM and e.t[2] == "count"), None)
            unit = one if bare is b else other
            self.fault("unlike-units", f"cannot {doing} {one} and {other}".replace("count", "a bare number"), f"write {bare.text} {unit}" if bare is not None and unit in (*UNITS, *POINTS) else "unlike units never meet")

    def build(self, n) -> ex.Expr:
        e = getattr(self, "_" + n[0])(n)
        e.ast = n
        return e

    def _num(self, n):
        unit = n[2] or "count"
        if unit == "date":
            return ex.Num(("q", DAY, unit), parse_quantity(n[1], unit, self.at)[0], n[1])
        return ex.Num(("q", dimension(unit), unit), to_base(Fraction(n[1]), unit), n[1] + (f" {n[2]}" if n[2] else ""))

    def _size(self, n):
        return ex.Word_(("row", None), n[1])

    def _word(self, n):
        return ex.Word_(("word",), n[1])

    def _path(self, n):
        names = tuple(reversed(n[1]))
        root, kinds = names[0], self.words.kinds
        if self.row is not None and len(names) == 1 and (root in self.row.keys or root in self.row.values):
            return ex.Column(self.row.type_of(root), root)
        if len(names) == 1 and root in self.locals:
            return self.locals[root]
        if len(names) == 1 and root in self.values and root not in kinds[self.about].words:
            v, t = self.values_used[root] = self.values[root]
            return ex.Dated(t, root, v)
        member = self.member is not None and root == self.member
        if member and root in kinds[self.about].words and kinds[self.about].words[root].type[0] != "ref":
            self.fault("two-meanings", f'"{root}" could be the member or a fact of the {self.about}', "rename one")
        kind, rest = (self.member, names[1:]) if member else (self.about, names)
        said = " of ".join(n[1])
        rest = self.words.spell(kind, rest)
        slots, path_kinds, t = [], [kind], ("ref", kind)
        for i, a in enumerate(rest):
            w = kinds[kind].words.get(a)
            if w is None:
                alias = kinds[kind].aliases.get(a)
                todo = f'in a rule it is called "{alias}"' if alias else self.odd_name(a) or self.meant(kind, a)
                if self.member and a != root:
                    todo = suggest(a, kinds[kind].words)
                elif self.member and root in kinds[self.member].words:
                    todo = f'the {self.member}\'s own is "{root} of {self.member}"'
                self.fault("unknown-word", f'{a_noun(kind)} has no "{a}"', todo)
            slots.append(w.slot)
            t = w.type
            if i < len(rest) - 1:
                if t[0] != "ref":
                    self.fault("not-one-thing", f'"{a}" of {kind} is {describe(t)}, so nothing can be "of" it', 'write "total … over …"' if t[0] == "many" else "turn the path round")
                kind = t[1]
                path_kinds.append(kind)
        return ex.Path(t, tuple(slots), tuple(rest), tuple(path_kinds), member, said)

    def meant(self, kind: str, name: str) -> str:
        """What a person may have meant by a name that *kind* has not: the fact of another thing, one like it, or a word to bring."""
        kinds = self.words.kinds
        todo, seen, found = [(kind, ())], {kind}, []
        for k, way in todo:   # the nearest first
            if found and len(way) > len(found[0][1]):
                break
            if fact := name if name in kinds[k].words else kinds[k].aliases.get(name):
                found.append((fact, way))
            for w in kinds[k].words.values():
                if w.type[0] == "ref" and w.type[1] in kinds and w.type[1] not in seen and len(way) < 3:
                    seen.add(w.type[1])
                    todo.append((w.type[1], (w.name, *way)))
        if found:
            return "did you mean " + " or ".join(f'"{" of ".join((fact, *way))}"' for fact, way in found[:3]) + "?"
        near = suggest(name, [*kinds[kind].words, *kinds[kind].short, *self.locals, *self.values])
        bring = f"; a pack may bring a word of its own: words: {{{kind}: {{{name}: {{is: yes or no, ask: ...}}}}}}"
        return near + ("" if near.startswith("did you mean") or any(name in k.words or name in k.aliases for k in kinds.values()) else bring)

    def odd_name(self, name: str) -> str:
        """What to do about a name that is no misspelling but another way of writing."""
        if "'s " in name:
            owner, _, fact = name.partition("'s ")
            return f'write "{fact} of {owner}"'
        if name in ("yes", "no", "true", "false"):
            return "a yes/no fact stands alone: write the fact, or not and the fact"
        return ""

    def _bin(self, n):
        _, op, left, right = n
        a, b = self.quantity(left), self.quantity(right)
        if op in "+-±":
            d = a.t[1]
            if op == "-" and a.t[1] == b.t[1] == POINT:
                d = (("K", 1),)
            elif not (a.t[1] == POINT and b.t[1] == (("K", 1),)):
                if DAY in (a.t[1], b.t[1]):
                    self.fault("unlike-units", "dates do not add", "compare a date with another date")
                if a.t[1] == POINT:
                    self.fault("unlike-units", "two temperatures never add", "write the step in F° or C°")
                self.same(a, b, "add" if op != "-" else "take")
        else:
            if op == "÷" and isinstance(b, ex.Num) and b.value == 0:
                self.fault("division-by-zero", "nothing can be divided by 0", "compare with 0 instead")
            if DAY in (a.t[1], b.t[1]):
                self.fault("unlike-units", "a date cannot be multiplied", "compare it with another date")
            if POINT in (a.t[1], b.t[1]):
                self.fault("unlike-units", "a temperature cannot be multiplied", "a step of degrees (F°, C°) can")
            d = multiply_dims(a.t[1], b.t[1], 1 if op == "×" else -1)
        unit = a.t[2] if d == a.t[1] and a.t[2] not in ("%",) else b.t[2] if d == b.t[1] else SHOWN_AS.get(d)
        return ex.Arith(("q", d, unit), op, a, b)

    def _least(self, n):
        xs = tuple(self.quantity(e) for e in n[1])
        for e in xs[1:]:
            self.same(xs[0], e, "compare")
        return ex.Extreme(xs[0].t, n[0] == "least", xs)

    _most = _least

    def _over(self, n):
        _, fn, body, path, where, default = n
        lst = self.build(path)
        if lst.t[0] != "many":
            self.fault("not-a-list", f'"{" of ".join(path[1])}" is {describe(lst.t)}, not a list')
        outer, self.member = self.member, lst.t[1]
        b = self.quantity(body) if body else None
        w = self.cond(where) if where else None
        self.member = outer
        dflt = self.quantity(default) if default else None
        if dflt is not None:
            self.same(b, dflt, "compare")
        t = b.t if b is not None else ("q", NONE_DIM, "count")
        return ex.Over(t, fn, b, lst, w, dflt)

    def _look(self, n):
        _, column, name, keys, where = n
        t = self.table(name)
        if column not in t.values and not (column in t.keys and where):
            self.fault("unknown-column", f'table {name} has no column "{column}"', suggest(column, t.values))
        out = []
        for k, e in keys:
            if k not in t.keys:
                self.fault("unknown-column", f'table {name} has no key "{k}"', suggest(k, t.keys))
            out.append((k, self.key(t, k, e)))
        missing = [k for k in t.keys if k not in dict(out)]
        if missing and not where:
            self.fault("key-missing", f'table {name} also needs "{missing[0]}"', f"add: and {missing[0]} = …")
        w = None
        if where:
            outer, self.row = self.row, t
            w = self.cond(where)
            self.row = outer
        ty = t.type_of(column)
        if ty == ("word",) and column in t.values and {r[column] for r in t.rows} <= {"yes", "no"}:
            ty = ex.FLAG
        return ex.Look(ty, t, column, tuple(out), w)

    def key(self, t: Table, k: str, node) -> ex.Expr:
        e, u = self.build(node), t.unit(k)
        if u and (e.t[0] != "q" or e.t[1] != dimension(u)):
            self.fault("wrong-unit", f'key "{k}" of {t.id} is in {u}, not {describe(e.t)}')
        if not u and e.t[0] == "q":
            self.fault("wrong-unit", f'key "{k}" of {t.id} is a word, not {describe(e.t)}')
        if isinstance(e, ex.Word_) and not any(r[k] == e.value for r in t.rows):
            self.fault("no-such-row", f'table {t.id} has no row where "{k}" is "{e.value}"', suggest(e.value, {r[k] for r in t.rows}))
        if e.t[0] == "choice" and not any(r[k] in e.t[1] for r in t.rows):
            self.fault("no-such-row", f'no choice of "{k}" is a row of {t.id}', "compare the words of the table with the choices")
        return e

    def _step(self, n):
        a, t = self.quantity(n[2]), self.table(n[3])
        col = next(iter(t.keys))
        if t.unit(col) is None or dimension(t.unit(col)) != a.t[1]:
            self.fault("wrong-unit", f"{n[3]} is not in {SHOWN_AS.get(a.t[1])}")
        return ex.Step(a.t, n[1] == "up", a, t, sorted({r[col] for r in t.rows}))

    def _round(self, n):
        a, s = self.quantity(n[2]), self.build(n[3])
        self.same(a, s, "round")
        if s.value == 0:
            self.fault("division-by-zero", "nothing is rounded to 0", "name the step: 1 A, 5 A")
        return ex.Round(a.t, n[1], a, s)

    def _root(self, n):
        a = self.quantity(n[1])
        if any(e % 2 for _, e in a.t[1]) or a.t[1] == POINT:
            self.fault("unlike-units", f"{SHOWN_AS.get(a.t[1], 'this')} has no square root")
        d = tuple((u, e // 2) for u, e in a.t[1])
        return ex.Root(("q", d, SHOWN_AS.get(d)), a, n[2])

    # ---- conditions
    def cond(self, n) -> ex.Expr:
        e = getattr(self, "_c_" + n[0], self._c_else)(n)
        e.ast = n
        return e

    def _c_else(self, n):
        self.fault("no-test", "this line states no test", "a comparison, or a yes/no fact, belongs here")

    def _not(self, n):
        return self.cond(n)

    _flag = _cmp = _is = _gauge = _among = _quant = _and = _or = _not

    def _c_not(self, n):
        return ex.Not(self.cond(n[1]))

    def _c_flag(self, n):
        e = self.build(n[1])
        if e.t != ex.FLAG:
            self.fault("no-test", f"this line states no test: it is {describe(e.t)}", "a comparison, or a yes/no fact, belongs here")
        return ex.Flag(e)

    def _c_cmp(self, n):
        _, op, left, right = n
        a, b = self.build(left), self.build(right)
        if "row" in (a.t[0], b.t[0]):
            name = next((e.t[1] for e in (a, b) if e.t[0] == "row" and e.t[1]), None)
            if name is None or a.t[0] not in ("row", "word") or b.t[0] not in ("row", "word"):
                self.fault("unlike-units", f"cannot compare {describe(a.t)} and {describe(b.t)}")
            t = self.table(name)
            order = t.order(next(iter(t.keys)) if "size" not in t.keys else "size")
            for e in (a, b):
                if isinstance(e, ex.Word_) and e.value not in order:
                    self.fault("no-such-row", f'"{e.value}" is no row of {name}', suggest(e.value, order))
            return ex.Cmp(op, a, b, order)
        if a.t[0] != "q" or b.t[0] != "q":
            todo = f'write "{self.said(left)} is …"' if op in ("=", "!=") else "only numbers and sizes have an order"
            self.fault("unlike-units", f'"{op}" compares numbers, and here stand {describe(a.t)} and {describe(b.t)}', todo)
        self.same(a, b, "compare")
        return ex.Cmp(op, a, b)

    @staticmethod
    def said(node) -> str:
        return " of ".join(node[1]) if node[0] == "path" else "…"

    def _c_gauge(self, n):
        a = self.build(n[1])
        if a.t[0] != "row":
            self.fault("unlike-units", f'"{n[2]}" is a size, and this is {describe(a.t)}')
        t = self.table(a.t[1] or "conductor-sizes")
        order = t.order("size")
        if n[2] not in order:
            self.fault("no-such-row", f'"{n[2]}" is no size of {t.id}', suggest(n[2], order))
        return ex.Gauge(a, n[2], n[3] == "smaller", order)

    def _c_is(self, n):
        _, negated, left, words = n
        a = self.build(left)
        for w in words:
            if w == "none" and isinstance(a, ex.Path) and a.names and a.t[0] == "ref" and self.words.kinds[a.kinds[-1]].words[a.names[-1]].part == "one":
                self.fault("wrong-type", f'"{a.names[-1]}" of {a_noun(a.kinds[-1])} always exists', "leave the test out, or make it an optional part")
            if w == "none" and a.t[0] in ("ref", "many", "row"):
                continue
            if a.t[0] == "choice" and w not in a.t[1]:
                means = self.words.kinds[a.kinds[-1]].words[a.names[-1]].means if isinstance(a, ex.Path) and a.names else {}
                self.fault("not-a-choice", f'"{w}" is no choice here', f'write "{means[w]}"' if w in means else suggest(w, a.t[1]))
            if a.t[0] == "row":
                name = a.t[1]
                if name and w not in self.table(name).order("size" if "size" in self.table(name).keys else next(iter(self.table(name).keys))):
                    self.fault("no-such-row", f'"{w}" is no row of {name}', suggest(w, self.table(name).order(next(iter(self.table(name).keys)))))
            elif a.t[0] not in ("choice", "word", "text"):
                todo = {"q": next((f"write {sign}" for said, sign in AT_LEAST.items() if w.startswith(said)), "numbers are compared with = < >"), "flag": f'write "{self.said(left)}" alone, or "not {self.said(left)}"'}.get(a.t[0], "")
                self.fault("wrong-type", f'"is {w}" does not fit: this is {describe(a.t)}', todo)
        return ex.Is(negated, a, words)

    def _c_among(self, n):
        _, negated, left, name, column, keys = n
        a, t = self.build(left), self.table(name)
        col = column or next(iter(t.keys))
        if col not in t.keys and col not in t.values:
            self.fault("unknown-column", f'table {name} has no column "{col}"', suggest(col, [*t.keys, *t.values]))
        u = t.unit(col)
        if bool(u) != (a.t[0] == "q") or (u and dimension(u) != a.t[1]):
            self.fault("unlike-units", f'"{col}" of {name} is not {describe(a.t)}')
        out = []
        for k, e in keys:
            if k not in t.keys:
                self.fault("unknown-column", f'table {name} has no key "{k}"', suggest(k, t.keys))
            out.append((k, self.key(t, k, e)))
        return ex.Among(negated, a, t, col, tuple(out))

    def _c_quant(self, n):
        _, fn, path, where = n
        lst = self.build(path)
        if lst.t[0] != "many":
            self.fault("not-a-list", f'"{" of ".join(path[1])}" is {describe(lst.t)}, not a list')
        outer, self.member = self.member, lst.t[1]
        w = self.cond(where)
        self.member = outer
        return ex.Quant(fn, lst, w)


__all__ = ["Rule", "Fill", "Checker", "section_of", "describe", "UNITS", "Decimal"]

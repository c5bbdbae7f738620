"""A rule of the knowledge base, read and type-checked: every line a typed expression, every name
known.
"""

from __future__ import annotations

import functools
import re
from fractions import Fraction

from ..basics.errors import Collector, Fault, Place, suggest
from ..basics.limits import CONDITIONS, EXAMPLES
from ..basics.reading import Mapping, digest, no_name, pieces, place_of
from ..basics.units import dimension, to_base
from . import expressions as ex
from .checker import Checker, describe
from .lines import RESERVED, parse_line
from .tables import Table
from .words import Words, a_noun, as_list

JUDGING = ("must", "must not", "should")
FILLING = ("gives", "reckons", "assumes", "designs")
VERBS = (*JUDGING, *FILLING, "tries", "refers", "warns", "lacks")
LAYERS = {"code": "law", "manufacturer": "maker", "local": "local", "practice": "practice"}
EDITIONS = ("2017", "2020", "2023", "2026")
# the fact whose choices have sections of their own: `NM-B: 334.30; UF-B: 340.10(4)`
CODE_BY = "code by"
KEYS = (
    "rule",
    "says",
    "about",
    "when",
    *VERBS,
    "exception to",
    "steps",
    "picks",
    "leaving out",
    "also",
    "at",
    *LAYERS,
    CODE_BY,
    "because",
    "doubt",
    "limits",
    "examples",
    "answers",
    "withdrawn",
    "scope",
)
LINES = (
    "rule",
    "says",
    "about",
    *(v for v in VERBS if v not in FILLING and v != "tries"),
    "picks",
    "at",
    CODE_BY,
    "manufacturer",
    "local",
    "practice",
    "because",
    "doubt",
    "limits",
    "scope",
    "withdrawn",
)
FORMS = {
    **{v: "write {v}: {{fact: formula}}" for v in FILLING},
    "code": "write code: {{2017: section}}",
}
BELONGS = {
    "picks": "tries",
    "leaving out": "tries",
    "also": "tries",
    "at": "warns",
    CODE_BY: "code",
}
# these do not change what is concluded
PROSE = (
    "says",
    "because",
    "doubt",
    "limits",
    "examples",
    "answers",
    "scope",
    *LAYERS,
    CODE_BY,
)
FORMULAS = (*FILLING, "steps")
MEANT = ("when", *JUDGING, *FORMULAS)  # whose text is lines of the grammar
PLAIN_KEYS = ("passes", "fails", "cannot tell", "why", "means")
ANSWER_KEYS = (
    "passes",
    "fails",
    "cannot tell",
    "needed",
    "have",
    "plain",
    "argued",
    "beside",
    "right",
    "short",
    "against",
    "hints",
    "asked",
    "rows",
    "under",
    "over",
)


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
    """One rule. ``when`` is a list of conditions, ``test`` the judging line, ``fills`` what it
    fills.
    """

    def __init__(
        self,
        d: Mapping,
        words: Words,
        tables: dict[str, Table],
        values: dict,
        ids: set[str],
        faults: Collector,
    ) -> None:
        self.id, self.d, self.at = str(d["rule"]), d, place_of(d)
        self._meaning: list[str] = []  # one digest, shared by every copy of this rule
        self.about = str(d.get("about", ""))
        self.steps: dict[str, ex.Local] = {}
        self.when: list[ex.Expr] = []
        self.when_text: list[str] = []
        self.test: ex.Expr | None = None
        self.fills: list[Fill] = []
        self.exception_to = [str(t) for t in as_list(d.get("exception to"))]
        self.said = str(d.get("says", self.id.replace("-", " ")))
        self.faults = faults
        self.cited_by: ex.Path | None = None
        self.reads_tables: frozenset[str] = frozenset()
        self.reads_values: frozenset[str] = frozenset()
        for k in d:
            if k not in KEYS:
                faults.add(
                    "rule-key", place_of(k), f'{self.id}: a rule takes no "{k}"', suggest(k, KEYS)
                )
        verbs = [v for v in VERBS if v in d]
        if len(verbs) != 1 and not (not verbs and self.exception_to):
            said = " and ".join(f'"{v}"' for v in verbs) if verbs else "no verb"
            faults.add(
                "rule-verb",
                self.at,
                f"{self.id} has {said}",
                "a rule has one of: "
                + ", ".join(VERBS)
                + ", or exception to"
                + ('; for "shall" write must' if "shall" in d else ""),
            )
        self.verb = verbs[0] if verbs else "exception"
        self.layers = [k for k in LAYERS if k in d]
        self.layer = LAYERS[self.layers[0]] if self.layers else "practice"
        if getattr(d, "through", "") and (
            self.layer == "law" or self.layer == "practice" and self.verb != "should"
        ):
            # what an ordinance says of a practice is law there, but for advice it leaves advice
            self.layer = "local"
        if not self.layers:
            faults.add(
                "no-source",
                self.at,
                f"{self.id} names no source",
                "add code: {2017: section}, manufacturer:, local: or practice:",
            )
        if isinstance(d.get("code"), dict):
            for e in d["code"]:
                if e not in EDITIONS:
                    faults.add("edition", place_of(e), f'"{e}" is no edition', suggest(e, EDITIONS))
        if not d.get("says"):
            faults.add(
                "rule-says", self.at, f"{self.id} does not say what it is", "add says: one sentence"
            )
        if not self._forms(d):
            return
        if self.about not in words.kinds:
            faults.add(
                "rule-about",
                place_of(d.get("about"), self.at),
                f'{self.id} is about "{self.about}", which is no kind of thing',
                suggest(self.about, words.kinds),
            )
            return
        for k in as_list(d.get("leaving out")) + as_list(d.get("also")) + self.exception_to:
            if str(k) not in ids:
                faults.add(
                    "no-such-rule",
                    place_of(k, self.at),
                    f'{self.id} names "{k}", and there is no such rule',
                    suggest(k, ids),
                )
        self.c = Checker(words, tables, values, self.about, self.at)
        self._read(d, faults)
        self.reads_tables, self.reads_values = (
            frozenset(self.c.tables_used),
            frozenset(self.c.values_used),
        )
        if "answers" in d:
            with faults.catching():
                self._answers(d["answers"], ids)

    def _forms(self, d: Mapping) -> bool:
        """Whether every key has the form it must have: a line, a list of names, or a mapping of
        lines.
        """
        before = len(self.faults.items)
        if odd := no_name(self.id):
            self.faults.add(
                "rule-name",
                place_of(d["rule"], self.at),
                f'"{self.id}" is no name for a rule: {odd}',
                "write plain letters, and not many",
            )
        elif not re.fullmatch(r"[^\W\d_]+(-\w+)*", self.id) or not isinstance(d["rule"], str):
            self.faults.add(
                "rule-name",
                place_of(d["rule"], self.at),
                f'"{self.id}" is no name for a rule',
                "write words joined by hyphens, as in next-size-up",
            )
        for k, v in d.items():
            if k in LINES and not isinstance(v, str) and not (k in JUDGING and isinstance(v, dict)):
                self.faults.add(
                    "rule-form",
                    place_of(v, self.at),
                    f'{self.id}: "{k}" is one line',
                    f"write {k}: and one line"
                    + (
                        "; several tests are several rules, or any of: [line, line]"
                        if k in JUDGING
                        else ""
                    ),
                )
            elif k in FORMS and (
                not isinstance(v, dict) or not v or not all(isinstance(x, str) for x in v.values())
            ):
                self.faults.add(
                    "rule-form",
                    place_of(v, self.at),
                    f'{self.id}: "{k}" names '
                    + ("sections by edition" if k == "code" else "facts"),
                    FORMS[k].format(v=k),
                )
            elif k in ("exception to", "leaving out", "also") and not all(
                isinstance(x, str) for x in as_list(v)
            ):
                self.faults.add(
                    "rule-form",
                    place_of(v, self.at),
                    f'{self.id}: "{k}" names rules',
                    f"write {k}: [rule, rule]",
                )
            most, what = (
                (EXAMPLES, "examples")
                if k == "examples"
                else (CONDITIONS, "lines")
                if k in MEANT
                else (0, "")
            )
            if most and (n := len(v) if k == "examples" else pieces(v)) > most:
                self.faults.add(
                    "rule-too-long",
                    place_of(v, self.at),
                    f'{self.id}: "{k}" has {n:,} {what}, and {most} are read',
                    "divide the rule, or look the words up in a table",
                )
            if k in BELONGS and BELONGS[k] not in d:
                self.faults.add(
                    "rule-form",
                    place_of(k, self.at),
                    f'{self.id}: "{k}" goes with "{BELONGS[k]}", and this rule has none',
                    f"leave it out, or write {BELONGS[k]}:",
                )
        return len(self.faults.items) == before

    def _answers(self, said, ids: set[str]) -> None:
        """See that the sentences of the short answer name only keys, facts and rules that are
        there.
        """
        if not isinstance(said, dict):
            raise Fault(
                "answers-form",
                place_of(said, self.at),
                f'{self.id}: "answers" names sentences',
                "write answers: {passes: sentence, fails: sentence}",
            )
        for k, v in said.items():
            if k not in ANSWER_KEYS:
                self.faults.add(
                    "answers-key",
                    place_of(k, self.at),
                    f'{self.id}: answers take no "{k}"',
                    suggest(k, ANSWER_KEYS),
                )
            for i in as_list(v) if k in ("argued", "beside") else ():
                if str(i) not in ids:
                    self.faults.add(
                        "no-such-rule",
                        place_of(i, self.at),
                        f'{self.id} names "{i}", and there is no such rule',
                        suggest(str(i), ids),
                    )
            if k == "plain" and isinstance(v, dict):
                for p in v:
                    if p not in PLAIN_KEYS:
                        self.faults.add(
                            "answers-key",
                            place_of(p, self.at),
                            f'{self.id}: plain takes no "{p}"',
                            suggest(p, PLAIN_KEYS),
                        )
            for text in [*v.values()] if isinstance(v, dict) else as_list(v):
                self._sentence(text)

    def _sentence(self, text) -> None:
        at = place_of(text, self.at)
        if not isinstance(text, str):
            raise Fault(
                "answers-form",
                at,
                f"{self.id}: a sentence is one line of text",
                "put it in quotes if it holds braces or a colon",
            )
        rest = re.sub(r"\{([^{}]+)\}", "", text)
        if "{" in rest or "}" in rest:
            self.faults.add(
                "answers-form",
                at,
                f'{self.id}: a brace is not closed in "{text}"',
                "write {fact} in braces",
            )
        for path in re.findall(r"\{([^{}]+)\}", text):
            if path in ("margin", "needed", "have"):
                continue
            k, words = self.about, self.c.words
            names = tuple(n.strip() for n in reversed(path.split(" of ")))
            # the thing itself, named by its kind
            own = len(names) > 1 and names[0] == k and k not in words.kinds[k].words
            for name in words.spell(k, names[own:]):
                w = words.kinds[k].words.get(name) if k in words.kinds else None
                if w is None:
                    todo = (
                        suggest(name, [*words.known(k), "margin", "needed", "have"])
                        if k in words.kinds
                        else "turn the path round"
                    )
                    self.faults.add(
                        "unknown-word",
                        at,
                        f'{self.id} says "{{{path}}}", and '
                        + (
                            f'{a_noun(k)} has no "{name}"'
                            if k in words.kinds
                            else f'nothing can be "of" it before "{name}"'
                        ),
                        todo,
                    )
                    break
                k = w.type[1] if w.type[0] in ("ref", "many") else ""

    def _read(self, d: Mapping, faults: Collector) -> None:
        c, kind = self.c, self.c.words.kinds[self.about]
        steps = d.get("steps", {})
        if not isinstance(steps, dict):
            faults.add(
                "rule-form",
                place_of(steps, self.at),
                f'{self.id}: "steps" names lines',
                "write steps: {name: formula}",
            )
            steps = {}
        for name, text in steps.items():
            with faults.catching():
                if bad := RESERVED & set(name.split()):
                    raise Fault(
                        "step-name",
                        place_of(name),
                        f'{self.id}: the name of a step cannot hold the word "{sorted(bad)[0]}"',
                        "say it another way",
                    )
                if not re.fullmatch(r"[^\W\d_][^\d()+×÷*±,=<>−|:#]*", name):
                    raise Fault(
                        "step-name",
                        place_of(name),
                        f'{self.id}: "{name}": a name is words, without digits or signs',
                        "say it another way",
                    )
                if name in kind.words:
                    raise Fault(
                        "step-name",
                        place_of(name),
                        f'{self.id}: {a_noun(self.about)} already has "{name}"',
                        "give the step a name of its own",
                    )
                self.steps[str(name)] = c.step(str(name), text)
        for text in as_list(d.get("when")):
            with faults.catching():
                self.when.append(self._condition(text))
                self.when_text.append(
                    str(text)
                    if not isinstance(text, dict)
                    else " or ".join(map(str, text.get("any of", [])))
                )
        if CODE_BY in d:
            with faults.catching():
                self._cited_by(d)
        elif several := next((text for text in d.get("code", {}).values() if by_case(text)), None):
            faults.add(
                "code-form",
                place_of(several, self.at),
                f"{self.id} names sections of several, and not by which fact they differ",
                "add code by: and the fact",
            )
        if self.verb in JUDGING:
            with faults.catching():
                self.test = self._condition(d[self.verb])
        if self.verb in FILLING:
            body = d[self.verb]
            if not isinstance(body, dict):
                faults.add(
                    "rule-form",
                    place_of(body, self.at),
                    f'{self.id}: "{self.verb}" names facts',
                    f"write {self.verb}: {{fact: formula}}",
                )
                return
            for name, text in body.items():
                with faults.catching():
                    self.fills.append(self._fill(kind, name, text))
        if self.verb == "tries":
            with faults.catching():
                self._tries(d)
        if self.verb == "warns" and "at" not in d:
            faults.add(
                "warns-at",
                self.at,
                f"{self.id} does not say at which moment it warns",
                "add at: before drilling",
            )

    def _condition(self, text) -> ex.Expr:
        if isinstance(text, dict):
            extra = [k for k in text if k not in ("any of", "all of")]
            if extra or len(text) != 1:
                raise Fault(
                    "when-form",
                    place_of(text, self.at),
                    f"{self.id}: a condition is a line, or any of: [lines]",
                    "write any of: [line, line]",
                )
            k = next(iter(text))
            if not as_list(text[k]):
                raise Fault(
                    "when-form",
                    place_of(text[k], self.at),
                    f'{self.id}: "{k}" lists no conditions',
                    "write any of: [line, line]",
                )
            return ex.Junction(k == "all of", tuple(self._condition(t) for t in as_list(text[k])))
        return self.c.condition(text)

    def _fill(self, kind, name, text) -> Fill:
        c = self.c
        w = kind.words.get(str(name))
        if w is None:
            raise Fault(
                "unknown-word",
                place_of(name),
                f'{self.id} fills "{name}", and {a_noun(self.about)} has no such fact',
                suggest(name, kind.words),
            )
        t = w.type
        if t[0] == "flag" and str(text) in ("yes", "no"):
            return Fill(w, ex.Word_(t, str(text) == "yes"), str(text))
        if t[0] == "flag":
            e = c.formula(text, flag=True)
            if e.t != ex.FLAG and e.t != ("word",):
                raise Fault(
                    "wrong-type",
                    place_of(text),
                    f'{self.id}: "{name}" is yes or no',
                    "write yes, no, or a condition in full",
                )
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
                raise Fault(
                    "not-a-choice",
                    place_of(text),
                    f'{self.id}: "{text}" is no choice of "{name}"',
                    suggest(str(text), t[1]),
                ) from None
            raise
        if isinstance(e, ex.Word_) and e.t == ("word",):
            self._value_of(w, e.value, text)
        ok = (
            (t[0] == "q" and e.t[0] == "q" and e.t[1] == t[1])
            or (t[0] == "row" and e.t[0] in ("row", "word"))
            or (
                t[0] == "choice"
                and (e.t == ("word",) or (e.t[0] == "choice" and set(e.t[1]) <= set(t[1])))
            )
            or (t[0] == "text" and e.t[0] in ("word", "text"))
        )
        if not ok:
            raise Fault(
                "wrong-unit",
                place_of(text),
                f'{self.id} fills "{name}", which is {describe(t)}, with "{text}", which is'
                f" {describe(e.t)}",
                "unlike units never meet",
            )
        return Fill(w, e, str(text))

    def _cited_by(self, d: Mapping) -> None:
        """Read the fact by which the sections differ; see that each section is of one of its
        choices.
        """
        e = self.c.formula(d[CODE_BY])
        if not isinstance(e, ex.Path) or e.t[0] != "choice" or e.member:
            raise Fault(
                "wrong-type",
                place_of(d[CODE_BY]),
                f'{self.id}: "{d[CODE_BY]}" is {describe(e.t)}, and sections differ by a fact with'
                " choices",
                "write code by: method",
            )
        cases = [(c, text) for text in d["code"].values() for c in by_case(text)]
        if not cases or any(": " in text and not by_case(text) for text in d["code"].values()):
            raise Fault(
                "code-form",
                place_of(d["code"], self.at),
                f"{self.id} is cited by {d[CODE_BY]}, and a section does not say whose it is",
                f'write code: {{2017: "{e.t[1][0]}: section; {e.t[1][-1]}: section"}}',
            )
        for c, text in cases:
            if c not in e.t[1]:
                raise Fault(
                    "not-a-choice",
                    place_of(text, self.at),
                    f'{self.id}: "{c}" is no choice of "{d[CODE_BY]}"',
                    suggest(c, e.t[1]),
                )
        self.cited_by = e

    def uncited(self, givers: dict[tuple, list]) -> list[tuple[str, str]]:
        """(edition, choice) for which no section is named, though the rule may be about it."""
        if self.cited_by is None:
            return []
        left = [c for c in self.cited_by.t[1] if all(self._may_be(c, w, givers) for w in self.when)]
        return [
            (e, c)
            for e, text in self.d["code"].items()
            if (cases := by_case(text))
            for c in left
            if c not in cases
        ]

    def _may_be(self, choice: str, w: ex.Expr, givers: dict[tuple, list]) -> bool:
        """Whether a condition leaves the rule to the things of this choice: by itself, or by what
        one table makes of it.
        """
        if (
            not isinstance(w, ex.Is)
            or not isinstance(w.a, ex.Path)
            or w.a.names[:-1] != self.cited_by.names[:-1]
        ):
            return True
        v: str | None = choice
        if w.a.names != self.cited_by.names:
            of = [
                f.expr
                for g in givers.get((w.a.kinds[-1], w.a.names[-1]), ())
                for f in g.fills
                if f.word.name == w.a.names[-1]
            ]
            if (
                len(of) != 1
                or not isinstance(of[0], ex.Look)
                or of[0].where is not None
                or [k.names for _, k in of[0].keys if isinstance(k, ex.Path)]
                != [self.cited_by.names[-1:]]
            ):
                return True
            v = next(
                (str(r[of[0].column]) for r in of[0].table.rows if r[of[0].keys[0][0]] == choice),
                None,
            )
        return v is not None and (v in w.words) is not w.negated

    def _value_of(self, w, value: str, text) -> None:
        """See that a word written out is a choice or a row of what it fills."""
        if w.type[0] == "choice" and value not in w.type[1]:
            raise Fault(
                "not-a-choice",
                place_of(text, self.at),
                f'{self.id}: "{value}" is no choice of "{w.name}"',
                suggest(value, w.type[1]),
            )
        table = self.c.tables.get(w.type[1]) if w.type[0] == "row" else None
        if table is not None:
            order = table.order("size" if "size" in table.keys else next(iter(table.keys)))
            if value not in order:
                raise Fault(
                    "no-such-row",
                    place_of(text, self.at),
                    f'{self.id}: "{value}" is no row of {table.id}',
                    suggest(value, order),
                )

    def _tries(self, d: Mapping) -> None:
        body = d["tries"]
        if not isinstance(body, dict) or len(body) != 1 or "picks" not in d:
            raise Fault(
                "tries-form",
                place_of(body, self.at),
                f"{self.id}: tries names one fact and its table, picks the fact that takes the"
                " result",
                "write tries: {size: from TABLE by KEY} and picks: NAME",
            )
        ((name, text),) = body.items()
        kind = self.c.words.kinds[self.about]
        for n in (name, d["picks"]):
            if n not in kind.words:
                raise Fault(
                    "unknown-word",
                    place_of(n),
                    f'{self.id}: {a_noun(self.about)} has no "{n}"',
                    suggest(n, kind.words),
                )
        self.c.at, self.c.src = place_of(text, self.at), text
        look = parse_line("x " + str(text), at=Place(self.c.at[0], self.c.at[1], self.c.at[2] - 2))
        if look[0] != "look" or look[4] is not None:
            raise Fault(
                "tries-form",
                place_of(text),
                f'{self.id}: "{text}" names no table',
                "write from TABLE by KEY",
            )
        self.tried, self.picks = kind.words[str(name)], kind.words[str(d["picks"])]
        self.tries_table = self.c.table(look[2])
        if str(name) not in self.tries_table.keys:
            raise Fault(
                "unknown-column",
                place_of(text),
                f'table {look[2]} has no key "{name}"',
                suggest(str(name), self.tries_table.keys),
            )
        self.tries_keys = {k: self.c.build(e) for k, e in look[3]}
        self.leaving_out = {str(i) for i in as_list(d.get("leaving out"))}
        self.also = {str(i) for i in as_list(d.get("also"))}

    def taken_over(self) -> Rule:
        """The same rule for other knowledge, which may leave out the exceptions it does not
        have.
        """
        other = object.__new__(Rule)
        other.__dict__.update(self.__dict__)
        other.exception_to = [str(t) for t in as_list(self.d.get("exception to"))]
        return other

    def __getstate__(self):
        """What a cache keeps: no examples, and text without the places of its pieces."""
        kept = {k: v for k, v in self.__dict__.items() if k not in ("c", "faults")}
        d = kept["d"] = plain_text({k: v for k, v in self.d.items() if k != "examples"})
        d.__dict__.update(self.d.__dict__)  # its place, and what it came through
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

    def section(self, edition: str, x: list | None = None) -> str | None:
        """Its section in *edition*, for the thing *x* where sections differ; None where it is not
        in force there.
        """
        return section_of(
            self.d,
            edition,
            self.cited_by.ev(x, None) if self.cited_by is not None and x is not None else None,
        )

    def meaning(self) -> str:
        """Digest of what the rule says, not of how it is worded."""
        if not self._meaning:
            self._meaning.append(digest(repr(sorted(_parts(self.d).items()))))
        return self._meaning[0]


def meaning_parts(d: Mapping) -> dict[str, str]:
    """Digest of each part of a rule that changes what is concluded: 3 ft and 36 in have one, prose
    has none.
    """
    return {k: digest(said, 6) for k, said in _parts(d).items()}


def _parts(d: Mapping) -> dict[str, str]:
    """What each part of a rule that changes what is concluded says: lines by what they mean,
    anything else by its words.
    """
    return {
        str(k): repr(
            _exact([v] if k == "when" and isinstance(v, str) else v, k in FORMULAS)
            if k in MEANT
            else _words(v)
        )
        for k, v in d.items()
        if k not in PROSE
    }


def _words(v):
    if isinstance(v, str):
        return " ".join(v.split())
    return (
        [_words(x) for x in v] if isinstance(v, list) else {str(k): _words(x) for k, x in v.items()}
    )


def _exact(v, formula: bool):
    if isinstance(v, dict):
        return {str(k): _exact(x, formula) for k, x in sorted(v.items())}
    return [_exact(x, formula) for x in v] if isinstance(v, list) else _exact_line(str(v), formula)


@functools.lru_cache(5000)
def _exact_line(text: str, formula: bool) -> str:
    """What a line means; a *formula* is a condition as well, and has been read as what it is."""
    for what in ("sum", "cond")[not formula :]:
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


def section_of(d: Mapping, edition: str, case=None) -> str | None:
    """The section an item names in *edition*: each holds until the next edition listed; `gone` ends
    it.

    Where sections differ by a fact that is the one of its *case*, and all of them where the case is
    not known. What a pack amended cites the pack first: "Ordinance 7 §2, amending 110.26(A)(1)".
    """
    section, through = cited(d, edition), getattr(d, "through", "")
    if section and CODE_BY in d and (cases := by_case(section)):
        section = cases.get(case) if isinstance(case, str) else None
        section = section or ", ".join(dict.fromkeys(cases.values()))
    return f"{through}, amending {section}" if section and through else section


def by_case(text: str) -> dict[str, str]:
    """The sections of a citation by whose they are: `PVC 40 | PVC 80: 352.26; EMT: 358.26`; none
    where it has but one.
    """
    parts = [part.partition(": ") for part in str(text).split("; ")]
    return (
        {case.strip(): section for cases, colon, section in parts for case in cases.split(" | ")}
        if all(colon for _, colon, _ in parts)
        else {}
    )


def cited(d: Mapping, edition: str) -> str | None:
    """The citation of *edition* as written, with all its cases."""
    code, edition = d.get("code"), getattr(d, "edition", edition)
    if isinstance(code, dict):
        e = max((e for e in code if e <= edition), default=None)
        return None if e is None or code[e] == "gone" else str(code[e])
    return str(next((d[k] for k in LAYERS if k in d), ""))

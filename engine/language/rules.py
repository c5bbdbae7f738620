"""A rule of the knowledge base, read and type-checked: every line a typed expression, every name
known.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import Any, TypeAlias

from ..basics.errors import Collector, Fault, Place, suggest
from ..basics.forms import CONDITION, KIND, LINE
from ..basics.limits import CONDITIONS, EXAMPLES
from ..basics.reading import Mapping, digest, no_name, pieces, place_of
from ..basics.units import Dimension, dimension, to_base
from . import expressions as ex
from .checker import Checker, Values, describe, size_order
from .forms import ANSWERS, PLAIN_ANSWERS, RULE
from .lines import RESERVED, parse_line
from .lowering import AMOUNTS, COMES_WITH, HOLD, PLAIN, STATES, TAKES, WORK
from .names import FORMERLY
from .tables import Table
from .things import Thing, Type
from .words import Kind, Word, Words, a_noun, as_list

Read: TypeAlias = Any  # what a file says: a line of text, a list, or a mapping
JUDGING = ("must", "must not", "should")
FILLING = ("gives", "reckons", "assumes", "designs")
VERBS = (*JUDGING, *FILLING, "tries", "refers", "warns", "lacks")
LAYERS = {"code": "law", "manufacturer": "maker", "local": "local", "practice": "practice"}
EDITIONS = ("2017", "2020", "2023", "2026")
# the fact whose choices have sections of their own: `NM-B: 334.30; UF-B: 340.10(4)`
CODE_BY = "code by"
ONE_LINE = RULE.of(LINE, KIND, CONDITION)
FORMS = {
    **{v: "write {v}: {{fact: formula}}" for v in FILLING},
    "code": "write code: {{2017: section}}",
}
BELONGS: dict[str, tuple[str, ...]] = {
    "picks": ("tries",),
    "leaving out": ("tries",),
    "also": ("tries",),
    "at": ("warns",),
    CODE_BY: ("code",),
    **{key: (WORK, HOLD) for key in (*STATES, *PLAIN)},
    **{key: (TAKES,) for key in AMOUNTS},
    COMES_WITH: (TAKES,),
    "asks": (TAKES, WORK, HOLD),
    "minutes": (WORK, HOLD),
}
# what may have been meant by a key of work in a rule that is no work
NO_WORK = {
    "asks": (
        "to ask a person, give the fact ask: under words:; to demand it, write must:; refers: is"
        " for what no fact can settle"
    ),
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
    FORMERLY,
)
OF_NAMES = ("exception to", "leaving out", "also", FORMERLY)
FORMULAS = (*FILLING, "steps")
MEANT = ("when", *JUDGING, *FORMULAS)  # whose text is lines of the grammar


# in the sentence of an answer, beside the facts
NUMBERS_OF_AN_ANSWER = ("margin", "needed", "have")
# what a line of a rule can name a step, or a pack a table or a value
NAME_IN_A_LINE = r"[^\W\d_][^\d()+×÷*±,=<>−|:#]*"
SIZE = r"\d+(/0)? (AWG|kcmil)"


def plain_text(read: Read) -> Read:
    """What was read, as plain dicts, lists and text: without the place of every piece."""
    if isinstance(read, dict):
        return Mapping((str(key), plain_text(value)) for key, value in read.items())
    return [plain_text(value) for value in read] if isinstance(read, list) else str(read)


class Fill:
    """One fact a rule fills: its word, and the line that says with what."""

    __slots__ = ("word", "expr", "text")

    def __init__(self, word: Word, expr: ex.Expr, text: str) -> None:
        self.word, self.expr, self.text = word, expr, text


class Rule:
    """One rule. ``when`` is a list of conditions, ``test`` the judging line, ``fills`` what it
    fills.

    Its faults go to a collector, so that one does not hide the next; a rule that has some is never
    in force.
    """

    # what its lines were checked with; a rule that a cache kept has none
    c: Checker
    # of a rule that tries alone: the fact it tries and the one that takes the result, the table
    # whose rows it tries and by which keys, the tests it leaves out and those it takes beside
    tried: Word
    picks: Word
    tries_table: Table
    tries_keys: dict[str, ex.Expr]
    leaving_out: set[str]
    also: set[str]

    def __init__(
        self,
        d: Mapping,
        words: Words,
        tables: dict[str, Table],
        values: Values,
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
        self.cited_by: ex.Path | None = None  # the fact by which its sections differ
        self.reads_tables: frozenset[str] = frozenset()
        self.reads_values: frozenset[str] = frozenset()
        self._see_keys()
        self.verb = self._verb()
        self.layers = [key for key in LAYERS if key in d]
        self.layer = self._layer()
        self._see_source()
        # lines are read only where each stands where it belongs, about something there is
        if not self._forms() or not self._see_about(words):
            return
        self._see_names(ids)
        self.c = Checker(words, tables, values, self.about, self.at)
        self._read(words.kinds[self.about])
        self.reads_tables = frozenset(self.c.tables_used)
        self.reads_values = frozenset(self.c.values_used)
        if "answers" in d:
            with faults.catching():
                self._answers(d["answers"], ids)

    @property
    def through(self) -> str:
        """The edits that made of it what it says, as they are cited; "" where none did."""
        return self.d.through

    # ---- its form
    def _see_keys(self) -> None:
        """See that it has no part that no rule has."""
        RULE.see(self.d, self.faults, of=self.id)

    def _verb(self) -> str:
        """What it does; exactly one thing, or nothing but to set others aside."""
        verbs = [verb for verb in VERBS if verb in self.d]
        if len(verbs) > 1 or (not verbs and not self.exception_to):
            said = " and ".join(f'"{verb}"' for verb in verbs) if verbs else "no verb"
            self.faults.add(
                "rule-verb",
                self.at,
                f"{self.id} has {said}",
                "a rule has one of: "
                + ", ".join((*VERBS, TAKES, WORK, HOLD))
                + ", or exception to"
                + ('; for "shall" write must' if "shall" in self.d else ""),
            )
        return verbs[0] if verbs else "exception"

    def _layer(self) -> str:
        """Whose rule it is: the law's, a manufacturer's, a place's, or practice."""
        layer = LAYERS[self.layers[0]] if self.layers else "practice"
        if self.through and (layer == "law" or layer == "practice" and self.verb != "should"):
            # what an ordinance says of a practice is law there, but for advice it leaves advice
            return "local"
        return layer

    def _see_source(self) -> None:
        """See that it says where it comes from, and what it is."""
        if not self.layers:
            self.faults.add(
                "no-source",
                self.at,
                f"{self.id} names no source",
                "add code: {2017: section}, manufacturer:, local: or practice:",
            )
        code = self.d.get("code")
        for edition in code if isinstance(code, dict) else ():
            if edition not in EDITIONS:
                self.faults.add(
                    "edition",
                    place_of(edition),
                    f'"{edition}" is no edition',
                    suggest(edition, EDITIONS),
                )
        if not self.d.get("says"):
            self.faults.add(
                "rule-says",
                self.at,
                f"{self.id} does not say what it is",
                "add says: one sentence",
            )

    def _see_about(self, words: Words) -> bool:
        """Whether there is such a thing as it is about."""
        if self.about in words.kinds:
            return True
        self.faults.add(
            "rule-about",
            place_of(self.d.get("about"), self.at),
            f'{self.id} is about "{self.about}", which is no kind of thing',
            suggest(self.about, words.kinds),
        )
        return False

    def _see_names(self, ids: set[str]) -> None:
        """See that there are the rules it names."""
        named = as_list(self.d.get("leaving out")) + as_list(self.d.get("also"))
        for name in named + self.exception_to:
            if str(name) not in ids:
                self.faults.add(
                    "no-such-rule",
                    place_of(name, self.at),
                    f'{self.id} names "{name}", and there is no such rule',
                    suggest(name, ids),
                )

    def _forms(self) -> bool:
        """Whether its name is one and every key has the form it must have: a line, a list of names,
        or a mapping of lines.
        """
        before = len(self.faults.items)
        self._see_name()
        for key, value in self.d.items():
            self._see_form(key, value)
            self._see_length(key, value)
            if key in BELONGS and not any(with_ in self.d for with_ in BELONGS[key]):
                owners = '" or "'.join(BELONGS[key])
                self.faults.add(
                    "rule-form",
                    place_of(key, self.at),
                    f'{self.id}: "{key}" goes with "{owners}", and this rule has none',
                    NO_WORK.get(key) or f"leave it out, or write {BELONGS[key][0]}:",
                )
        return len(self.faults.items) == before

    def _see_name(self) -> None:
        """See that its name can be said, and written in a list of names."""
        at = place_of(self.d["rule"], self.at)
        odd = no_name(self.id)
        if odd:
            self.faults.add(
                "rule-name",
                at,
                f'"{self.id}" is no name for a rule: {odd}',
                "write plain letters, and not many",
            )
        elif not re.fullmatch(r"[^\W\d_]+(-\w+)*", self.id) or not isinstance(self.d["rule"], str):
            self.faults.add(
                "rule-name",
                at,
                f'"{self.id}" is no name for a rule',
                "write words joined by hyphens, as in next-size-up",
            )

    def _see_form(self, key: str, value: Read) -> None:
        """See that what stands at a key is a line, lines by name, or names, as the key wants it."""
        at = place_of(value, self.at)
        if key in ONE_LINE:
            # a test may be a junction of lines
            if not isinstance(value, str) and not (key in JUDGING and isinstance(value, dict)):
                several = "; several tests are several rules, or any of: [line, line]"
                self.faults.add(
                    "rule-form",
                    at,
                    f'{self.id}: "{key}" is one line',
                    f"write {key}: and one line" + (several if key in JUDGING else ""),
                )
        elif key in FORMS:
            if not value or not isinstance(value, dict) or not _all_text(value.values()):
                what = "sections by edition" if key == "code" else "facts"
                self.faults.add(
                    "rule-form", at, f'{self.id}: "{key}" names {what}', FORMS[key].format(v=key)
                )
        elif key in OF_NAMES and not _all_text(as_list(value)):
            self.faults.add(
                "rule-form",
                at,
                f'{self.id}: "{key}" names rules',
                f"write {key}: [rule, rule]",
            )

    def _see_length(self, key: str, value: Read) -> None:
        """See that there are no more examples and lines than are read."""
        if key == "examples":
            number, most, what = len(value), EXAMPLES, "examples"
        elif key in MEANT:
            number, most, what = pieces(value), CONDITIONS, "lines"
        else:
            return
        if number > most:
            self.faults.add(
                "rule-too-long",
                place_of(value, self.at),
                f'{self.id}: "{key}" has {number:,} {what}, and {most} are read',
                "divide the rule, or look the words up in a table",
            )

    # ---- the sentences of its short answer
    def _answers(self, said: Read, ids: set[str]) -> None:
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
        ANSWERS.see(said, self.faults, self.at, self.id)
        for key, value in said.items():
            if key in ("argued", "beside"):
                self._see_rules_beside(as_list(value), ids)
            if key == "plain" and isinstance(value, dict):
                self._see_plain_keys(value)
            if key == "unsettled":
                self._see_unsettled(value)
            for text in [*value.values()] if isinstance(value, dict) else as_list(value):
                self._sentence(text)

    def _see_unsettled(self, said: Read) -> None:
        """See that what stays unsettled are facts of what the rule is about."""
        known = self.c.words.kinds[self.about].words
        for fact in said if isinstance(said, dict) else [said]:
            if str(fact) not in known:
                what = f'{self.id}: "{fact}" is no fact of {a_noun(self.about)}'
                todo = "write unsettled: {fact: what a design says instead}"
                self.faults.add("answers-key", place_of(fact, self.at), what, todo)

    def _see_rules_beside(self, names: list[Read], ids: set[str]) -> None:
        """See that there are the rules that an answer is argued from or stands beside."""
        for name in names:
            if str(name) not in ids:
                self.faults.add(
                    "no-such-rule",
                    place_of(name, self.at),
                    f'{self.id} names "{name}", and there is no such rule',
                    suggest(str(name), ids),
                )

    def _see_plain_keys(self, sentences: dict[str, Read]) -> None:
        """See that each plain sentence is for an answer that there is."""
        PLAIN_ANSWERS.see(sentences, self.faults, self.at, self.id)

    def _sentence(self, text: Read) -> None:
        """See that one sentence of an answer is a line, and each name in its braces a fact."""
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
            if path not in NUMBERS_OF_AN_ANSWER:
                self._see_path(path, at)

    def _see_path(self, path: str, at: Place) -> None:
        """See that a name in braces leads from the thing to a fact."""
        kind, words = self.about, self.c.words
        names = tuple(name.strip() for name in reversed(path.split(" of ")))
        # the thing itself, named by its kind
        own = len(names) > 1 and names[0] == kind and kind not in words.kinds[kind].words
        for name in words.spell(kind, names[own:]):
            if kind not in words.kinds:
                self.faults.add(
                    "unknown-word",
                    at,
                    f'{self.id} says "{{{path}}}", and nothing can be "of" it before "{name}"',
                    "turn the path round",
                )
                return
            word = words.kinds[kind].words.get(name)
            if word is None:
                self.faults.add(
                    "unknown-word",
                    at,
                    f'{self.id} says "{{{path}}}", and {a_noun(kind)} has no "{name}"',
                    suggest(name, [*words.known(kind), *NUMBERS_OF_AN_ANSWER]),
                )
                return
            kind = word.type[1] if word.type[0] in ("ref", "many") else ""

    # ---- its lines
    def _read(self, kind: Kind) -> None:
        """Read every line, those first that others may name."""
        faults, d = self.faults, self.d
        self._read_steps(kind)
        for text in as_list(d.get("when")):
            with faults.catching():
                self.when.append(self._condition(text))
                self.when_text.append(_text_of(text))
        self._see_sections()
        if self.verb in JUDGING:
            with faults.catching():
                self.test = self._condition(d[self.verb])
        elif self.verb in FILLING:
            # that it is a mapping has been seen
            for name, text in d[self.verb].items():
                with faults.catching():
                    self.fills.append(self._fill(kind, name, text))
        elif self.verb == "tries":
            with faults.catching():
                self._tries(kind)
        elif self.verb == "warns" and "at" not in d:
            faults.add(
                "warns-at",
                self.at,
                f"{self.id} does not say at which moment it warns",
                "add at: before drilling",
            )

    def _read_steps(self, kind: Kind) -> None:
        """Read the lines that those after them may name."""
        steps = self.d.get("steps", {})
        if not isinstance(steps, dict):
            self.faults.add(
                "rule-form",
                place_of(steps, self.at),
                f'{self.id}: "steps" names lines',
                "write steps: {name: formula}",
            )
            return
        for name, text in steps.items():
            with self.faults.catching():
                self._see_step_name(name, kind)
                self.steps[str(name)] = self.c.step(str(name), text)

    def _see_step_name(self, name: str, kind: Kind) -> None:
        """See that a line can name a step, and means nothing else by it."""
        reserved = sorted(RESERVED & set(name.split()))
        if reserved:
            raise Fault(
                "step-name",
                place_of(name),
                f'{self.id}: the name of a step cannot hold the word "{reserved[0]}"',
                "say it another way",
            )
        if not re.fullmatch(NAME_IN_A_LINE, name):
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

    def _see_sections(self) -> None:
        """See that sections of several are told apart by a fact."""
        if CODE_BY in self.d:
            with self.faults.catching():
                self._cited_by()
            return
        several = next((text for text in self.d.get("code", {}).values() if by_case(text)), None)
        if several is not None:
            self.faults.add(
                "code-form",
                place_of(several, self.at),
                f"{self.id} names sections of several, and not by which fact they differ",
                "add code by: and the fact",
            )

    def _condition(self, text: Read) -> ex.Expr:
        """A condition: a line, or a junction of conditions."""
        if not isinstance(text, dict):
            return self.c.condition(text)
        if len(text) != 1 or not text.keys() <= {"any of", "all of"}:
            raise Fault(
                "when-form",
                place_of(text, self.at),
                f"{self.id}: a condition is a line, or any of: [lines]",
                "write any of: [line, line]",
            )
        ((how, lines),) = text.items()
        if not as_list(lines):
            raise Fault(
                "when-form",
                place_of(lines, self.at),
                f'{self.id}: "{how}" lists no conditions',
                "write any of: [line, line]",
            )
        return ex.Junction(how == "all of", tuple(self._condition(line) for line in as_list(lines)))

    # ---- what it fills
    def _fill(self, kind: Kind, name: str, text: Read) -> Fill:
        """One fact, and with what it is filled."""
        word = kind.words.get(self.c.words.present_name(kind.name, str(name), place_of(name)))
        if word is None:
            raise Fault(
                "unknown-word",
                place_of(name),
                f'{self.id} fills "{name}", and {a_noun(self.about)} has no such fact',
                suggest(name, kind.words),
            )
        expression = self._written_out(word, text)
        if expression is None:
            read = self._yes_or_no if word.type[0] == "flag" else self._reckoned
            expression = read(word, name, text)
        return Fill(word, expression, str(text))

    def _written_out(self, word: Word, text: Read) -> ex.Expr | None:
        """A yes, a no, a choice or a size as it stands; None where the line is to be read."""
        t, said = word.type, self.c.words.present_choice(word, str(text), place_of(text))
        if t[0] == "flag" and said in ("yes", "no"):
            return ex.Word_(t, said == "yes")
        if t[0] == "choice" and said in t[1]:
            return ex.Word_(t, said)
        if t[0] == "row" and re.fullmatch(SIZE, said):
            self._value_of(word, said, text)
            return ex.Word_(t, said)
        return None

    def _yes_or_no(self, word: Word, name: str, text: Read) -> ex.Expr:
        """The line that says whether a yes/no fact is so."""
        expression = self.c.formula(text, flag=True)
        if expression.t != ex.FLAG and expression.t != ("word",):
            raise Fault(
                "wrong-type",
                place_of(text),
                f'{self.id}: "{name}" is yes or no',
                "write yes, no, or a condition in full",
            )
        # a column of words may hold yes and no
        expression.t = ex.FLAG
        return expression

    def _reckoned(self, word: Word, name: str, text: Read) -> ex.Expr:
        """The line that says what a fact is worth; it must be of the fact's type."""
        t = word.type
        try:
            expression = self.c.formula(text)
        except Fault as fault:
            if t[0] != "choice" or fault.code != "unknown-word":
                raise
            raise Fault(
                "not-a-choice",
                place_of(text),
                f'{self.id}: "{text}" is no choice of "{name}"',
                suggest(str(text), t[1]),
            ) from None
        if isinstance(expression, ex.Word_) and expression.t == ("word",):
            self._value_of(word, str(expression.value), text)
        if not _fits(expression.t, t):
            raise Fault(
                "wrong-unit",
                place_of(text),
                f'{self.id} fills "{name}", which is {describe(t)}, with "{text}", which is'
                f" {describe(expression.t)}",
                "unlike units never meet",
            )
        return expression

    def _value_of(self, word: Word, value: str, text: Read) -> None:
        """See that a word written out is a choice or a row of what it fills."""
        t = word.type
        if t[0] == "choice" and value not in t[1]:
            raise Fault(
                "not-a-choice",
                place_of(text, self.at),
                f'{self.id}: "{value}" is no choice of "{word.name}"',
                suggest(value, t[1]),
            )
        table = self.c.tables.get(t[1]) if t[0] == "row" else None
        if table is not None and value not in size_order(table):
            raise Fault(
                "no-such-row",
                place_of(text, self.at),
                f'{self.id}: "{value}" is no row of {table.id}',
                suggest(value, size_order(table)),
            )

    # ---- its sections
    def _cited_by(self) -> None:
        """Read the fact by which the sections differ; see that each section is of one of its
        choices.
        """
        by, code = self.d[CODE_BY], self.d["code"]
        fact = self.c.formula(by)
        if not isinstance(fact, ex.Path) or fact.t[0] != "choice" or fact.member:
            raise Fault(
                "wrong-type",
                place_of(by),
                f'{self.id}: "{by}" is {describe(fact.t)}, and sections differ by a fact with'
                " choices",
                "write code by: method",
            )
        choices = fact.t[1]
        cases = [(case, text) for text in code.values() for case in by_case(text)]
        if not cases or any(": " in text and not by_case(text) for text in code.values()):
            raise Fault(
                "code-form",
                place_of(code, self.at),
                f"{self.id} is cited by {by}, and a section does not say whose it is",
                f'write code: {{2017: "{choices[0]}: section; {choices[-1]}: section"}}',
            )
        for case, text in cases:
            if case not in choices:
                raise Fault(
                    "not-a-choice",
                    place_of(text, self.at),
                    f'{self.id}: "{case}" is no choice of "{by}"',
                    suggest(case, choices),
                )
        self.cited_by = fact

    def uncited(self, givers: dict[tuple[str, str], list[Rule]]) -> list[tuple[str, str]]:
        """(edition, choice) for which no section is named, though the rule may be about it."""
        if self.cited_by is None:
            return []
        left = [
            choice
            for choice in self.cited_by.t[1]
            if all(self._may_be(choice, condition, givers) for condition in self.when)
        ]
        out = []
        for edition, text in self.d["code"].items():
            cases = by_case(text)
            out += [(edition, choice) for choice in left if cases and choice not in cases]
        return out

    def _may_be(
        self, choice: str, condition: ex.Expr, givers: dict[tuple[str, str], list[Rule]]
    ) -> bool:
        """Whether a condition leaves the rule to the things of this choice: by itself, or by what
        one table makes of it.
        """
        by = self.cited_by
        if by is None or not isinstance(condition, ex.Is):
            return True
        path = condition.a
        if not isinstance(path, ex.Path) or path.names[:-1] != by.names[:-1]:
            return True
        word: str | None = choice
        if path.names != by.names:
            look = _only_look_up(path, by.names[-1:], givers)
            if look is None:
                return True
            key = look.keys[0][0]
            rows = (row for row in look.table.rows if row[key] == choice)
            word = next((str(row[look.column]) for row in rows), None)
        return word is not None and (word in condition.words) is not condition.negated

    # ---- what it tries
    def _tries(self, kind: Kind) -> None:
        """Read which rows it tries, for which fact, and which fact takes the result."""
        body = self.d["tries"]
        if not isinstance(body, dict) or len(body) != 1 or "picks" not in self.d:
            raise Fault(
                "tries-form",
                place_of(body, self.at),
                f"{self.id}: tries names one fact and its table, picks the fact that takes the"
                " result",
                "write tries: {size: from TABLE by KEY} and picks: NAME",
            )
        ((name, text),) = body.items()
        for fact in (name, self.d["picks"]):
            if fact not in kind.words:
                raise Fault(
                    "unknown-word",
                    place_of(fact),
                    f'{self.id}: {a_noun(self.about)} has no "{fact}"',
                    suggest(fact, kind.words),
                )
        self.c.at, self.c.src = place_of(text, self.at), text
        file, line, column = self.c.at
        # a look-up without its column, so one is put before it
        look = parse_line("x " + str(text), at=Place(file, line, column - 2))
        if look[0] != "look" or look[4] is not None:
            raise Fault(
                "tries-form",
                place_of(text),
                f'{self.id}: "{text}" names no table',
                "write from TABLE by KEY",
            )
        self.tried, self.picks = kind.words[str(name)], kind.words[str(self.d["picks"])]
        self.tries_table = self.c.table(look[2])
        if str(name) not in self.tries_table.keys:
            raise Fault(
                "unknown-column",
                place_of(text),
                f'table {look[2]} has no key "{name}"',
                suggest(str(name), self.tries_table.keys),
            )
        self.tries_keys = {key: self.c.build(node) for key, node in look[3]}
        self.leaving_out = {str(i) for i in as_list(self.d.get("leaving out"))}
        self.also = {str(i) for i in as_list(self.d.get("also"))}

    # ---- copies
    def taken_over(self) -> Rule:
        """The same rule for other knowledge, which may leave out the exceptions it does not
        have.
        """
        other = object.__new__(Rule)
        other.__dict__.update(self.__dict__)
        other.exception_to = [str(t) for t in as_list(self.d.get("exception to"))]
        return other

    def __getstate__(self) -> dict[str, Any]:
        """What a cache keeps: no examples, and text without the places of its pieces."""
        kept = {key: v for key, v in self.__dict__.items() if key not in ("c", "faults")}
        plain = plain_text({key: v for key, v in self.d.items() if key != "examples"})
        # its place, and what it came through
        plain.__dict__.update(self.d.__dict__)
        kept["d"] = plain
        return kept

    # ---- what others ask of a rule
    def stands_with(self, tables: dict[str, Table], values: dict[str, tuple[Any, ...]]) -> bool:
        """Whether everything that the rule was checked against is as it was."""
        return all(tables.get(name) is table for name, table in self.c.tables_used.items()) and all(
            values.get(name) == value for name, value in self.c.values_used.items()
        )

    def exprs(self) -> Iterator[ex.Expr]:
        """Every top expression of the rule."""
        yield from (s.of for s in self.steps.values())
        yield from self.when
        if self.test is not None:
            yield self.test
        yield from (f.expr for f in self.fills)
        if self.verb == "tries":
            yield from self.tries_keys.values()

    @property
    def comparison(self) -> ex.Cmp | None:
        """What the rule compares, where that is all of its test."""
        return self.test if isinstance(self.test, ex.Cmp) else None

    def tested(self) -> Iterator[ex.Path]:
        """The facts of the rule's own thing, and of what it leads to, that its test reads."""
        for path in ex.paths(self.test) if self.test is not None else ():
            if path.own_fact is not None:
                yield path

    def literals(self) -> Iterator[ex.Literal]:
        """What must be so of facts of few values, each alone, for the rule to apply."""
        return (one for condition in self.when for one in condition.literals())

    def section(self, edition: str, thing: Thing | None = None) -> str | None:
        """Its section in *edition*, for *thing* where sections differ; None where it is not in
        force there.
        """
        if self.cited_by is None or thing is None:
            return section_of(self.d, edition)
        return section_of(self.d, edition, self.cited_by.ev(thing, None))

    def meaning(self) -> str:
        """Digest of what the rule says, not of how it is worded."""
        if not self._meaning:
            self._meaning.append(digest(repr(sorted(_parts(self.d).items()))))
        return self._meaning[0]


def _all_text(read: Iterable[Read]) -> bool:
    """Whether everything that was read is a line of text."""
    return all(isinstance(value, str) for value in read)


def _text_of(condition: Read) -> str:
    """A condition as one line, for a sentence about it."""
    if isinstance(condition, dict):
        return " or ".join(map(str, condition.get("any of", [])))
    return str(condition)


def _fits(given: Type, wanted: Type) -> bool:
    """Whether a fact of the type *wanted* can be filled with what is *given*."""
    if wanted[0] == "q":
        return given[0] == "q" and given[1] == wanted[1]
    if wanted[0] == "row":
        return given[0] in ("row", "word")
    if wanted[0] == "choice":
        return given == ("word",) or (given[0] == "choice" and set(given[1]) <= set(wanted[1]))
    return wanted[0] == "text" and given[0] in ("word", "text")


def _only_look_up(
    path: ex.Path, key: tuple[str, ...], givers: dict[tuple[str, str], list[Rule]]
) -> ex.Look | None:
    """The look-up by the fact *key* alone that gives the fact at the end of *path*, where nothing
    else gives it.
    """
    fact = path.names[-1]
    rules = givers.get((path.kinds[-1], fact), ())
    lines = [fill.expr for rule in rules for fill in rule.fills if fill.word.name == fact]
    if len(lines) != 1:
        return None
    (look,) = lines
    if not isinstance(look, ex.Look) or look.where is not None:
        return None
    by = [e.names for _, e in look.keys if isinstance(e, ex.Path)]
    return look if by == [key] else None


# ---- what a rule means, and where it comes from --------------------------------------------------


def meaning_parts(d: Mapping) -> dict[str, str]:
    """Digest of each part of a rule that changes what is concluded: 3 ft and 36 in have one, prose
    has none.
    """
    return {key: digest(said, 6) for key, said in _parts(d).items()}


def _parts(d: Mapping) -> dict[str, str]:
    """What each part of a rule that changes what is concluded says: lines by what they mean,
    anything else by its words.
    """
    return {
        str(key): repr(_meant(key, value) if key in MEANT else _words(value))
        for key, value in d.items()
        if key not in PROSE
    }


def _meant(key: str, value: Read) -> Read:
    """What the lines at one key mean: one condition alone is a list of one."""
    lines = [value] if key == "when" and isinstance(value, str) else value
    return _exact(lines, key in FORMULAS)


def _words(read: Read) -> Read:
    """What was read, by its words: how they were set does not matter."""
    if isinstance(read, str):
        return " ".join(read.split())
    if isinstance(read, list):
        return [_words(value) for value in read]
    return {str(key): _words(value) for key, value in read.items()}


def _exact(read: Read, formula: bool) -> Read:
    """What was read, each line by what it means."""
    if isinstance(read, dict):
        return {str(key): _exact(value, formula) for key, value in sorted(read.items())}
    if isinstance(read, list):
        return [_exact(value, formula) for value in read]
    return _exact_line(str(read), formula)


@functools.lru_cache(5000)
def _exact_line(text: str, formula: bool) -> str:
    """What a line means; a *formula* is a condition as well, and has been read as what it is."""
    for what in ("sum", "cond") if formula else ("cond",):
        try:
            tree = parse_line(text, what)
            return repr(_with_values(tree if what == "cond" else ("flag", tree)))
        except Fault:
            continue
    return " ".join(text.split())


def _with_values(node: Any) -> Any:
    """A parsed line with its numbers in the base of what they measure."""
    if node.__class__ is not tuple:
        return node
    if node[:1] != ("num",):
        return tuple([_with_values(kid) for kid in node])
    return node if node[2] == "date" else ("num", *_base(node[1], node[2] or "count"))


@functools.lru_cache(1000)
def _base(number: str, unit: str) -> tuple[str, Dimension]:
    return str(to_base(Fraction(number), unit)), dimension(unit)


def section_of(d: Mapping, edition: str, case: object = None) -> str | None:
    """The section an item names in *edition*: each holds until the next edition listed; `gone` ends
    it.

    Where sections differ by a fact that is the one of its *case*, and all of them where the case is
    not known. What a pack amended cites the pack first: "Ordinance 7 §2, amending 110.26(A)(1)".
    """
    section = cited(d, edition)
    if not section:
        return section
    cases = by_case(section) if CODE_BY in d else {}
    if cases:
        of_the_case = cases.get(case) if isinstance(case, str) else None
        section = of_the_case or ", ".join(dict.fromkeys(cases.values()))
    return f"{d.through}, amending {section}" if section and d.through else section


def by_case(text: str) -> dict[str, str]:
    """The sections of a citation by whose they are: `PVC 40 | PVC 80: 352.26; EMT: 358.26`; none
    where it has but one.
    """
    parts = [part.partition(": ") for part in str(text).split("; ")]
    if not all(colon for _, colon, _ in parts):
        return {}
    return {case.strip(): section for cases, _, section in parts for case in cases.split(" | ")}


def read_in(d: Mapping, edition: str) -> str:
    """The edition by which an item is read: its own, where it was carried into another law."""
    return getattr(d, "edition", edition)


def cited(d: Mapping, edition: str) -> str | None:
    """The citation of *edition* as written, with all its cases."""
    code, edition = d.get("code"), read_in(d, edition)
    if isinstance(code, dict):
        since = max((e for e in code if e <= edition), default=None)
        return None if since is None or code[since] == "gone" else str(code[since])
    return str(next((d[key] for key in LAYERS if key in d), ""))

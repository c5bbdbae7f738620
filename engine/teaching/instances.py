"""The instances of a question model, each from a seed: the facts are drawn, and the key is what the
rules in force conclude.

No answer is typed in. A wrong option is what the same rules conclude under a belief; where a kind
of question has no belief to offer, an option says what is wrong with it and names none. The same
seed gives the same question, byte for byte.
"""

from __future__ import annotations

import random
import re
from dataclasses import dataclass, field

from ..answering.findings import needs
from ..answering.verdicts import (
    PASSED,
    Verdict,
    alike,
    answer_on,
    is_plain,
    rounded,
    same_text,
    small,
    text_of,
    verdict_on,
)
from ..basics.errors import Fault, Faults, Place, suggest
from ..basics.reading import Mapping, place_of
from ..basics.sentinels import NONE
from ..basics.units import Range
from ..language.knowledge import Knowledge
from ..language.words import as_list
from ..proving.graph import Explainer, unit_shown
from ..running.chain import ADVICE, FAILS, OFF, TELL, WARNS, World
from ..running.job import read_job
from ..running.rerun import run_part, tell
from .beliefs import Belief, held
from .draws import Settled
from .models import Model, cone, kind_of, place, read_anew, starts

TRIES = 25  # draws of facts before a seed is given up
KEPT = 4  # runs of a model that are kept, where its draws are not all of the same things
MOST_WRONG = 3
NOTHING_FAILS = "nothing"


@dataclass
class Option:
    """One answer to choose: its text, its exact value, whether it is right, and whose belief makes
    it, if anybody's.
    """

    text: str
    value: object
    right: bool = False
    belief: str = ""  # who holds this chooses it
    says: str = ""  # what is wrong with it, where no belief makes it
    missed: str = ""  # who holds this leaves it out, though it is right


@dataclass
class Instance:
    """One question: stem, options in their order, the key among them."""

    model: Model
    seed: int
    facts: dict[str, str]
    stem: str
    key: Option
    options: list[Option] = field(default_factory=list)
    body: Mapping = field(default_factory=Mapping)
    unit: str = ""
    place: int | None = None  # where the key was asked to be
    only: str = ""  # the belief that was asked for
    digits: int | None = None  # how many places behind the point its numbers are shown with
    # what was worked out of it for one form of the paper, and serves the others
    kept: dict = field(default_factory=dict, repr=False, compare=False)

    def same(self, a, b) -> bool:
        """Whether two values are one answer, as this question shows them."""
        if (
            self.digits is not None
            and is_plain(a, self.unit)
            and is_plain(b, self.unit)
            and not isinstance(a, tuple)
            and not isinstance(b, tuple)
        ):
            return rounded(a, self.unit, self.digits) == rounded(b, self.unit, self.digits)
        return same_text(a, b, self.unit)

    @property
    def name(self) -> str:
        """What makes this question again: its model, its seed, where its key was asked to be, and
        which belief was asked for.
        """
        return (
            f"{self.model.name}:{self.seed}"
            + (f":{self.place}" if self.place is not None else "")
            + (f":{self.only}" if self.only else "")
        )

    @property
    def position(self) -> int:
        return next(i for i, o in enumerate(self.options) if o.right)

    @property
    def thing(self) -> str:
        """The thing it asks about."""
        d = self.model.d
        said = next(
            str(as_list(d[k])[0])
            for k in ("asks", "judges", "governs", "findings", "missing", "mends", "order")
            if k in d
        )
        return re.split(" of | on ", said, maxsplit=1)[1].strip()


def filled(template, facts: dict[str, str]):
    """*template* with every {fact} written out."""
    if isinstance(template, dict):
        out = Mapping((k, filled(v, facts)) for k, v in template.items())
        out.at = place_of(template)
        return out
    if isinstance(template, list):
        return [filled(v, facts) for v in template]
    return re.sub(r"\{([^{}]+)\}", lambda m: facts.get(m[1], m[0]), str(template))


def with_articles(text: str) -> str:
    """*text* with `an` before what is spoken with a vowel: an 8 AWG wire, an EMT, an RMC. An `A`
    within a sentence is amperes.
    """
    return re.sub(
        r"(\ba|(?:^|(?<=[.:] ))A) (?=8|1[18]\b|un(?!i)|(?!one\b|one-)[aeioAEIO]|[FHLMNRSX][A-Z-])",
        r"\1n ",
        text,
    )


def drawn(m: Model, rng) -> dict[str, str]:
    """One draw of a model's facts."""
    facts: dict[str, str] = {}
    for name, values in m.draws.items():
        v = rng.choice(values)
        facts.update(v if isinstance(v, dict) else {name: v})
    return facts


# What a question says of the rules whose failing it asks about.
ASKED = ("judges", "governs", "findings", "mends", "missing")


class Maker:
    """Makes instances of models under one law and a set of beliefs; what a belief does to the rules
    is worked out once.
    """

    def __init__(
        self,
        k: Knowledge,
        beliefs: dict[str, Belief],
        other: Knowledge | None = None,
        said: str = "",
        other_said: str = "",
    ) -> None:
        self.k, self.beliefs, self.said = k, beliefs, said or f"the {k.edition} edition"
        # the same under another law
        self.there = Maker(other, beliefs, said=other_said) if other else None
        self._held: dict[tuple, tuple] = {}
        self._nodes: dict[tuple, frozenset] = {}
        self._runs: dict[str, list[Settled]] = {}
        self._valued: dict[tuple, tuple] = {}  # a draw and a belief -> what it comes to
        self._wholes: dict[str, Settled] = {}  # of a model, its whole job as it was run last
        self._musts = [r for r in k.rules.values() if r.verb in ("must", "must not")]
        self._every = cone(k, [("rule", r.id, "") for r in self._musts])
        self._sound: dict[tuple, bool] = {}  # a draw -> whether nothing fails beside what is asked
        self._at: tuple | None = None  # the facts that were settled last, and where
        # model -> the facts that its draws vary, as `fairness` found them
        self.varied: dict[str, frozenset] = {}
        self._filled: dict[str, set] | None = (
            None  # kind -> the facts that a rule fills only where nobody told them
        )

    # ---- beliefs
    def held(self, *names: str) -> Knowledge | None:
        """The knowledge under beliefs; None where they cannot be held under this law."""
        return self._believed(names)[0]

    def _believed(self, names: tuple) -> tuple:
        """(the knowledge under beliefs or None, the rules it has otherwise; None where all was put
        together anew).
        """
        if names not in self._held:
            try:
                k = held(self.k, *(self.beliefs[n] for n in names))
                self._held[names] = (
                    k,
                    (
                        frozenset(i for i in k.rules if k.rules[i] is not self.k.rules.get(i))
                        if k.slots is self.k.slots
                        else None
                    ),
                )
            except (Fault, Faults):
                self._held[names] = None, None
        return self._held[names]

    def relevant(self, m: Model) -> list[str]:
        """The beliefs that could change the answer of a model."""
        named = [str(n) for n in as_list(m.d.get("beliefs"))]
        return (
            [n for n in named if n in self.beliefs]
            if named
            else [n for n, b in self.beliefs.items() if b.touches & m.touched]
        )

    # ---- runs
    def nodes(self, m: Model, told: frozenset) -> frozenset:
        """The nodes of the order that a model rests on, under the law and under its beliefs, where
        some facts are *told*.
        """
        if (m.name, told) not in self._nodes:
            read = set()
            for n in self.relevant(m):
                k, changed = self._believed((n,))
                if changed:
                    read |= read_anew(self.k, k, changed)
            self._nodes[m.name, told] = cone(self.k, [*starts(m, self.k), *read], told)
        return self._nodes[m.name, told]

    def settled(self, m: Model, body: Mapping) -> Settled:
        """The run of *body*, as far as *m* asks: one that was kept and takes over these facts, or a
        new one.
        """
        if self._at is not None and self._at[0] is body and self._at[1] == m.name:
            return self._at[2]
        s = self._settle(m, body)
        self._at = body, m.name, s
        return s

    def _settle(self, m: Model, body: Mapping) -> Settled:
        runs = self._runs.setdefault(m.name, [])
        for s in runs:
            if s.tells(body):
                return s
        job = read_job(body, self.k, "question")
        told = self._told(job)
        nodes = self.nodes(m, told)
        for s in runs:
            if s.nodes is nodes and s.takes(job):
                return s
        runs.append(Settled(self.k, job, nodes))
        del runs[:-KEPT]
        return runs[-1]

    def _told(self, job) -> frozenset:
        """The facts that every thing of their kind is told, of those that something would fill
        otherwise.
        """
        if self._filled is None:
            self._filled = {}
            for (kind, fact), givers in self.k.order.givers.items():
                if any(g.verb != "gives" for g in givers):
                    self._filled.setdefault(kind, set()).add(fact)
        return frozenset(
            (kind, fact)
            for kind, facts in self._filled.items()
            if job.by_kind[kind]
            for fact in facts.intersection(*(x[0].told for x in job.by_kind[kind]))
        )

    def under(self, s: Settled, m: Model, body: Mapping, *names: str) -> World | None:
        """The run as somebody has it who holds beliefs; None where they cannot be held."""
        if not names:
            return s.lawful()
        k, changed = self._believed(names)
        if k is None:
            return None
        if changed is None:  # put together anew: its cells lie elsewhere
            return run_part(k, read_job(body, k, "question"), cone(k, starts(m, k)))
        return s.under(k, changed)

    # ---- what is concluded
    def concludes(self, m: Model, body: Mapping, *names: str):
        """What *m* asks, as the rules have it under beliefs: a value, a verdict, rules that fail;
        None where it cannot be told.
        """
        if m.kind == "mends":
            return self._mending(m, body, *names)
        if m.kind == "under":
            return self.there.concludes(_as_asked(m), body, *names)
        w = self.under(self.settled(m, body), m, body, *names)
        return None if w is None else self._concluded(m, w, not names)[0]

    def valued(self, m: Model, body: Mapping, facts: dict, *names: str) -> tuple:
        """What a question of one value comes to under a belief, and its unit: worked out once for a
        draw, which may come again.
        """
        key = m.name, names, *facts.items()
        if key not in self._valued:
            w = self.under(self.settled(m, body), m, body, *names)
            self._valued[key] = (None, "") if w is None else self._concluded(m, w, not names)
        return self._valued[key]

    def _concluded(self, m: Model, w: World, lawful: bool, off_counts: bool = False) -> tuple:
        """(what is concluded, its unit)."""
        d = m.d
        if "asks" in d:
            fact, thing = place(str(d["asks"]), m, " of ")
            x = w.things.get(thing)
            if x is None:
                return None, ""
            word = w.k.words.kinds[x[0].kind].words[fact]
            v = x[word.slot]
            return (
                (None, "")
                if v is None or isinstance(v, (Range, list)) or v is NONE
                else (v, str(d.get("unit", "")) or unit_shown(x, fact, word.unit) or "")
            )
        if "judges" in d:
            return verdict_on(w, str(d["judges"]), lawful, off_counts), ""
        if m.kind == "missing":
            return _asked_for(w, str(d["missing"])), ""
        if m.kind == "order":
            return _steps(w, m), ""
        answers = {s: answer_on(w, s) for s in map(str, as_list(d[m.kind]))}
        if any(a is None or a == TELL for a in answers.values()):
            return None, ""
        return (
            tuple(
                dict.fromkeys(
                    s.partition(" on ")[0].strip()
                    for s, a in answers.items()
                    if a in (FAILS, WARNS)
                )
            ),
            "",
        )

    def _mending(self, m: Model, body: Mapping, *names: str) -> tuple | None:
        """The changes after which the rule passes, as somebody sees it who holds beliefs."""
        w = self.under(self.settled(m, body), m, body, *names)
        # to whom it is right as it stands mends nothing
        if w is None or answer_on(w, str(m.d["mends"])) not in (
            FAILS,
            ADVICE,
        ):
            return None
        good = (*PASSED, OFF) if names else PASSED
        return tuple(
            str(text)
            for text, change in m.d["options"].items()
            for after in (changed(body, change),)
            if answer_on(self.under(self.settled(m, after), m, after, *names), str(m.d["mends"]))
            in good
        )

    def chooses(self, q: Instance, *names: str) -> list:
        """What somebody who holds beliefs would choose of a question: the values any of which fits;
        [] where nothing does.
        """
        got = self.concludes(
            q.model if q.model.kind != "mends" else _with_options(q), q.body, *names
        )
        if got is None:
            return []
        if q.model.kind == "governs":
            return [got[0]] if len(got) == 1 else [NOTHING_FAILS] if not got else []
        return list(got) if q.model.kind == "mends" else [got]

    def kept(self, m: Model, s: Settled) -> bool:
        """Whether a draw is one that a job would have: the rules that the model `keeps` pass on
        it.
        """
        return "keeps" not in m.d or all(
            answer_on(s.lawful(), str(said)) in PASSED for said in as_list(m.d["keeps"])
        )

    def sound(self, m: Model, body: Mapping, facts: dict[str, str]) -> bool:
        """Whether nothing fails on the whole job but what *m* asks about: a key that the job's own
        inspection contradicts teaches what is wrong.
        """
        key = m.name, *facts.items()
        if key not in self._sound:
            w, slots = self._whole(m, body), self.k.slots
            said = (s for kind in ASKED for s in as_list(m.d.get(kind)))
            asked = {tuple(part.strip() for part in str(s).split(" on ")) for s in said}
            self._sound[key] = not any(
                x[slots[r.id]] == FAILS and (r.id, x[0].id) not in asked and w.answer(r, x) == FAILS
                for r in self._musts
                for x in w.by_kind.get(r.about, ())
            )
        return self._sound[key]

    def _whole(self, m: Model, body: Mapping) -> World:
        """The whole job run: of one model's jobs only what the facts of the next move."""
        s = self._wholes.get(m.name)
        if s is None or not s.tells(body):
            job = read_job(body, self.k, "question")
            if s is None or not s.takes(job):
                self._wholes[m.name] = s = Settled(self.k, job, self._every)
        return s.lawful()

    # ---- one instance
    def instance(
        self, m: Model, seed: int, position: int | None = None, only: str = ""
    ) -> Instance | None:
        """The instance of *m* from *seed*; None where no draw gives a key and two wrong options
        that differ.

        *position* asks for the place of the key among the options, *only* for a belief that must be
        among them.
        """
        rng = random.Random(f"{m.name}:{seed}:{position}:{only}")
        for _ in range(TRIES):
            facts = drawn(m, rng)
            body = filled(m.job, facts)
            if "keeps" in m.d and not self.kept(m, self.settled(m, body)):
                continue
            got = _MAKERS[m.kind](self, m, body, facts, rng, only)
            if got is None:
                continue
            key, options, order, unit = got
            if isinstance(options, tuple):  # all that apply, or an order: every option is offered
                chosen = list(options)
            else:
                options = _fit(options, only, rng)
                chosen = (
                    _placed(key, options, position, order, only, rng) if len(options) > 1 else None
                )
            if chosen is None:
                continue
            digits = alike(chosen, unit)
            if len({o.text for o in chosen}) == len(chosen) and self.sound(m, body, facts):
                stem = with_articles(
                    filled(
                        m.stem,
                        {
                            **facts,
                            "edition": self.k.edition,
                            "other": self.there.said if self.there else "",
                        },
                    )
                )
                return Instance(
                    m, seed, facts, stem, key, chosen, body, unit, position, only, digits
                )
        return None

    def again(self, models: dict[str, Model], name: str) -> Instance:
        """The question called *name* (model:seed, and perhaps :place and :belief), made again.
        Raises Fault where it is none.
        """
        model, *rest = name.split(":")
        if model not in models:
            raise Fault(
                "no-such-question",
                Place(name),
                f'no question model is called "{model}"',
                suggest(model, models),
            )
        only = rest.pop() if len(rest) > 1 and rest[-1] in self.beliefs else ""
        if not 1 <= len(rest) <= 2 or not all(r.isdecimal() and len(r) <= 18 for r in rest):
            raise Fault(
                "no-such-question",
                Place(name),
                "a question is called by its model and its seed",
                f"write {model}:1",
            )
        got = self.instance(
            models[model], int(rest[0]), int(rest[1]) if len(rest) == 2 else None, only
        )
        if got is None:
            raise Fault(
                "no-such-question",
                Place(name),
                "no question comes of this seed under this law",
                "take another seed",
            )
        return got

    def _in_turn(self, m: Model, rng, only: str) -> list[str]:
        """The beliefs of a model in the order in which they are tried."""
        names = self.relevant(m)
        rng.shuffle(names)
        return [only, *(n for n in names if n != only)] if only else names


# ---- choosing and placing options ----------------------------------------------------------------


def _fit(options: list[Option], only: str, rng) -> list[Option]:
    """Those made by beliefs before those that are not, and the one that is asked for first."""
    return sorted(
        options,
        key=lambda o: (
            o.belief != only if only else False,
            not o.belief and not o.says.startswith("That is the answer"),
        ),
    )


def _placed(
    key: Option, wrong: list[Option], position: int | None, order, only: str, rng
) -> list[Option] | None:
    """Two or three wrong options with the key among them: in numeric order where there is one, the
    key at *position*.
    """
    if only and not any(o.belief == only for o in wrong):
        return None
    if order is None:
        made = sum(bool(o.belief) for o in wrong)
        few = wrong[: max(2, min(MOST_WRONG, made))]
        if position is not None and position > len(few):
            few = wrong[:MOST_WRONG]
        rng.shuffle(few)
        place = rng.randrange(len(few) + 1) if position is None else position
        return None if place > len(few) else [*few[:place], key, *few[place:]]
    low = sorted(
        (o for o in wrong if order(o.value) < order(key.value)), key=lambda o: order(o.value)
    )
    high = sorted(
        (o for o in wrong if order(o.value) > order(key.value)), key=lambda o: order(o.value)
    )
    if position is None:
        return sorted([key, *wrong[:MOST_WRONG]], key=lambda o: order(o.value))
    if len(low) < position:
        return None
    take_low = _taking(low, position, only)
    take_high = _taking(high, min(MOST_WRONG - position, len(high)), only)
    if (
        len(take_low) + len(take_high) < 2
        or only
        and not any(o.belief == only for o in take_low + take_high)
    ):
        return None
    return [*take_low, key, *take_high]


def _taking(options: list[Option], n: int, only: str) -> list[Option]:
    first = sorted(options, key=lambda o: o.belief != only)[:n]
    return [o for o in options if o in first]


def _order_of(k: Knowledge, m: Model, v):
    """How the values of what is asked are ordered: as numbers, or as the rows of their table."""
    if "asks" in m.d and isinstance(v, str):
        fact, thing = place(str(m.d["asks"]), m, " of ")
        t = k.words.kinds[kind_of(thing, k)].words[fact].type
        if t[0] == "row":
            return _rows_of(k, t).get
    return None if isinstance(v, (str, bool, Verdict)) else (lambda x: x)


def _rows_of(k: Knowledge, type_: tuple) -> dict:
    """The values of a word that is a row of a table, in their order."""
    table = k.tables[type_[1]]
    return table.order("size" if "size" in table.keys else next(iter(table.keys)))


# ---- the kinds of questions: (key, wrong options or a tuple of all, their order, their unit) -----


def _by_value(maker: Maker, m: Model, body, facts, rng, only):
    """A number or a verdict: each wrong option is another belief's value on the same facts."""
    v, unit = maker.valued(m, body, facts)
    if v is None:
        return None
    wrong: dict[object, str] = {}
    for n in maker._in_turn(m, rng, only):
        other = maker.valued(m, body, facts, n)[0]
        if other is None or same_text(other, v, unit):
            if n == only:
                return None
            continue
        if not any(same_text(other, o, unit) for o in wrong):
            wrong[other] = n
        if len(wrong) > 4:
            break
    return (
        _key(v, unit),
        [_believed_option(maker, n, o, unit) for o, n in wrong.items()],
        _order_of(maker.k, m, v),
        unit,
    )


def _key(v, unit: str = "", text: str = "") -> Option:
    return Option(text or text_of(v, unit), v, True)


def _believed_option(maker: Maker, n: str, v, unit: str = "", text: str = "") -> Option:
    return Option(text or text_of(v, unit), v, False, n, maker.beliefs[n].says)


def _governs(maker: Maker, m: Model, body, facts, rng, only):
    """Which rule governs: the one that fails while all others pass; wrong is what fails for a
    believer, or that nothing does.
    """
    s = maker.settled(m, body)
    got, _ = maker._concluded(m, s.lawful(), True)
    if got is None or len(got) != 1:
        return None
    answers = {
        said.partition(" on ")[0].strip(): answer_on(s.lawful(), said)
        for said in map(str, as_list(m.d["governs"]))
    }
    passing = [i for i, a in answers.items() if a in PASSED and i != got[0]]
    found: dict[str, str] = {}
    for n in maker._in_turn(m, rng, only):
        w = maker.under(s, m, body, n)
        other = maker._concluded(m, w, False)[0] if w is not None else None
        if other is not None and len(other) < 2 and other != got:
            found.setdefault(other[0] if other else NOTHING_FAILS, n)
    if not found:
        return None
    text = {i: _label(m, maker.k.rules[i]) for i in passing} | {
        NOTHING_FAILS: "None of them: it is right as planned."
    }
    wrong = [
        _believed_option(maker, n, i, text=text.get(i) or _label(m, maker.k.rules[i]))
        for i, n in found.items()
    ]
    rest = [Option(text[i], i, says="It passes on these facts.") for i in passing if i not in found]
    rng.shuffle(rest)
    return _key(got[0], text=_label(m, maker.k.rules[got[0]])), wrong + rest, None, ""


def _findings(maker: Maker, m: Model, body, facts, rng, only):
    """Pick all that fail (or all cautions that belong there)."""
    return _picked(maker, m, body, rng, only)


def _picked(maker: Maker, m: Model, body, rng, only, elsewhere: tuple | None = None, law: str = ""):
    """All that apply: a wrong one is what a belief adds; of a right one it is said which belief
    leaves it out.

    *elsewhere* is what applies under another *law*, which a learner may still have in mind.
    """
    s = maker.settled(m, body)
    failing, _ = maker._concluded(m, s.lawful(), True)
    if not failing:
        return None
    adds: dict[str, str] = {}
    drops: dict[str, str] = {}
    for n in maker._in_turn(m, rng, only):
        w = maker.under(s, m, body, n)
        other = maker._concluded(m, w, False)[0] if w is not None else None
        for i in other or ():
            if i not in failing:
                adds.setdefault(i, n)
        for i in failing:
            if other is not None and i not in other:
                drops.setdefault(i, n)
    said = {
        str(one).partition(" on ")[0].strip(): answer_on(s.lawful(), str(one))
        for one in as_list(m.d["findings"])
    }
    offered = [
        i
        for i, a in said.items()
        if a in (FAILS, WARNS, *PASSED)
        or i in adds
        or elsewhere is not None
        or a == OFF
        and i in maker.k.rules
        and maker.k.rules[i].verb == "warns"
    ]
    if (
        len(offered) < 3
        or len(failing) == len(offered)
        or only
        and only not in (*adds.values(), *drops.values())
    ):
        return None
    if elsewhere == failing or not adds and not drops and elsewhere is None:
        return None
    options = []
    for i in offered:
        r = maker.k.rules.get(i) or maker.k.absent[i]
        why = (
            (f"That is not so under {law}." if elsewhere is not None and i not in elsewhere else "")
            if i in failing
            else (
                ""
                if i in adds
                else (
                    f"That is so under {law}."
                    if elsewhere and i in elsewhere
                    else (
                        "It does not belong to this work."
                        if r.d.get("warns")
                        else "It is met, or does not apply."
                    )
                )
            )
        )
        options.append(
            Option(_label(m, r), i, i in failing, adds.get(i, ""), why, drops.get(i, ""))
        )
    return (
        Option("; ".join(o.text for o in options if o.right), failing, True),
        tuple(options),
        None,
        "",
    )


def _label(m: Model, r) -> str:
    """What a rule is called among options: as the model says, since the rule's own sentence may
    hold the number that is asked for.
    """
    return str((m.d.get("options") or {}).get(r.id) or r.d.get("warns") or r.said)


def _asked_for(w: World, said: str):
    """What must be learned before `RULE on THING` is decided: ("ask", question), or ("told",
    answer); None where it is several.
    """
    rule, _, thing = said.partition(" on ")
    r, x = w.k.rules.get(rule.strip()), w.things.get(thing.strip())
    if x is None:
        return None
    a = OFF if r is None else w.answer(r, x)
    if a != TELL:
        return "told", "passes" if a in (*PASSED, OFF) else "fails"
    ns = needs(w, r, x)
    return ("ask", ns[0].ask) if len(ns) == 1 and ns[0].ask else None


def _turns(maker: Maker, m: Model, s: Settled, body, facts) -> bool:
    """Whether what is missing can turn the answer: told each value it can have, the rule passes (or
    does not apply) with one and fails with another.

    What a quantity could be the model says under `told`; where it does not, nothing is tried.
    """
    said = str(m.d["missing"])
    if "told" in m.d:
        answers = {
            answer_on(maker.settled(m, changed(body, filled(change, facts))).lawful(), said)
            for change in m.d["told"]
        }
    else:
        rule, _, thing = said.partition(" on ")
        n = needs(s.lawful(), maker.k.rules[rule.strip()], s.w.things[thing.strip()])[0]
        type_ = maker.k.words.kinds[s.w.things[n.of][0].kind].words[n.fact].type
        if type_[0] == "row":
            values = list(_rows_of(maker.k, type_))
        elif type_[0] in ("flag", "choice"):
            values = [True, False] if type_[0] == "flag" else type_[1]
        else:
            return True
        answers = set()
        for v in values:
            job = read_job(body, maker.k, "question")
            tell(job, [(n.of, n.fact, v)])
            answers.add(answer_on(run_part(maker.k, job, s.nodes), said))
    return not answers.isdisjoint((FAILS, ADVICE)) and not answers.isdisjoint((*PASSED, OFF))


def _missing(maker: Maker, m: Model, body, facts, rng, only):
    """What is missing: the one question that settles it; wrong is what a believer would ask, or
    that nothing need be asked.
    """
    s = maker.settled(m, body)
    got, _ = maker._concluded(m, s.lawful(), True)
    if got is None or got[0] != "ask" or not _turns(maker, m, s, body, facts):
        return None
    text = {
        ("told", "passes"): "Nothing more: it passes as it is told.",
        ("told", "fails"): "Nothing more: it fails as it is told.",
    }
    found: dict[tuple, str] = {}
    for n in maker._in_turn(m, rng, only):
        w = maker.under(s, m, body, n)
        other = maker._concluded(m, w, False)[0] if w is not None else None
        if other is not None and other != got:
            found.setdefault(other, n)
    wrong = [_believed_option(maker, n, v, text=text.get(v) or v[1]) for v, n in found.items()]
    rest, others = [], list((m.d.get("options") or {}).items())
    rng.shuffle(others)
    for question, change in others:  # learned, it still leaves the answer open
        after = changed(body, filled(change, facts))
        if (
            len(wrong) + len(rest) < MOST_WRONG
            and ("ask", str(question)) not in found
            and maker._concluded(m, maker.settled(m, after).lawful(), True)[0] == got
        ):
            rest.append(
                Option(
                    str(question),
                    ("ask", str(question)),
                    says="With that told as well, the answer is still open.",
                )
            )
    if not found and maker.relevant(m):
        return None
    return _key(got, text=got[1]), wrong + rest, None, ""


def _under(maker: Maker, m: Model, body, facts, rng, only):
    """What another law says of the same facts: the answer of the law at hand is a wrong option, and
    what beliefs make there.
    """
    if maker.there is None:
        return None
    there, asked = maker.there, _as_asked(m)
    if asked.kind == "findings":
        here, _ = maker._concluded(asked, maker.settled(asked, body).lawful(), True)
        return (
            _picked(there, asked, body, rng, only, here, maker.said) if here is not None else None
        )
    s = there.settled(asked, body)
    v, unit = there._concluded(asked, s.lawful(), True, True)
    here, _ = maker._concluded(asked, maker.settled(asked, body).lawful(), True, True)
    if v is None or here is None or same_text(v, here, unit):
        return None
    wrong = [Option(text_of(here, unit), here, says=f"That is the answer under {maker.said}.")]
    for n in maker._in_turn(m, rng, only):
        w = there.under(s, asked, body, n)
        other = there._concluded(asked, w, False)[0] if w is not None else None
        if (
            other is not None
            and not same_text(other, v, unit)
            and not any(same_text(other, o.value, unit) for o in wrong)
        ):
            wrong.append(_believed_option(maker, n, other, unit))
    return _key(v, unit), wrong, _order_of(there.k, m, v), unit


def _as_asked(m: Model) -> Model:
    """The model as the other law answers it: its question, without the comparison."""
    return Model(
        m.name,
        m.room,
        next(k for k in ("asks", "judges", "findings") if k in m.d),
        m.stem,
        m.draws,
        m.job,
        m.rule,
        m.d,
        m.at,
        m.touched,
    )


def _with_options(q: Instance) -> Model:
    """The model of a question about changes, with those changes alone that the question offers."""
    offered = {o.value for o in q.options}
    d = Mapping(
        {
            **q.model.d,
            "options": {
                filled(t, q.facts): filled(c, q.facts)
                for t, c in q.model.d["options"].items()
                if filled(t, q.facts) in offered
            },
        }
    )
    return Model(
        q.model.name,
        q.model.room,
        "mends",
        q.model.stem,
        q.model.draws,
        q.model.job,
        q.model.rule,
        d,
        q.model.at,
        q.model.touched,
    )


def _mends(maker: Maker, m: Model, body, facts, rng, only):
    """What would make it legal: each option is a change to the job; one of those offered lets the
    rule pass, others do for a believer.
    """
    d = Mapping(
        {**m.d, "options": {filled(t, facts): filled(c, facts) for t, c in m.d["options"].items()}}
    )
    said = str(m.d["mends"])
    s = maker.settled(m, body)
    if answer_on(s.lawful(), said) not in (FAILS, ADVICE):
        return None
    # to others nothing is to be mended
    names = [
        n
        for n in maker._in_turn(m, rng, only)
        if (w := maker.under(s, m, body, n)) is not None and answer_on(w, said) in (FAILS, ADVICE)
    ]
    right: list[str] = []
    found: dict[str, str] = {}
    for text, change in d["options"].items():
        after = changed(body, change)
        s = maker.settled(m, after)
        if answer_on(s.lawful(), said) in PASSED:
            right.append(text)
        elif holder := next(
            (n for n in names if answer_on(maker.under(s, m, after, n), said) in (*PASSED, OFF)), ""
        ):
            found[text] = holder
    rule = str(m.d["mends"]).partition(" on ")[0].strip()
    wrong = [_believed_option(maker, n, t, text=t) for t, n in found.items()]
    rest = [
        Option(t, t, says=f"It fails as before: {small(maker.k.rules[rule].said)}")
        for t in map(str, d["options"])
        if t not in right and t not in found
    ]
    rng.shuffle(rest)
    if not right or not found and maker.relevant(m):
        return None
    key = rng.choice(right)
    return _key(key, text=key), wrong + rest, None, ""


def changed(body: Mapping, change: Mapping) -> Mapping:
    """*body* with what *change* says put over it, at any depth; a list takes the change in its
    first item.
    """
    out = Mapping(body)
    for k, v in change.items():
        old = next((o for o in out if str(o) == str(k)), k)
        if isinstance(v, dict) and isinstance(out.get(old), dict):
            out[old] = changed(out[old], v)
        elif isinstance(v, dict) and isinstance(out.get(old), list) and out[old]:
            out[old] = [changed(out[old][0], v), *out[old][1:]]
        else:
            out[old] = v
    return out


def _steps(w: World, m: Model) -> tuple | None:
    """The longest chain of the rules that a model names in which each rests on the one before, and
    not the other way round.
    """
    fact, thing = place(str(m.d["order"]), m, " of ")
    x = w.things.get(thing)
    if x is None or x[w.k.words.kinds[x[0].kind].words[fact].slot] is None:
        return None
    e = Explainer(w, bare=True)
    e.fact(x, fact)
    at: dict[str, list] = {str(s): [] for s in as_list(m.d["options"])}
    down: dict[str, list] = {i: [] for i in e.g.nodes}
    for i, n in e.g.nodes.items():
        if (
            n.kind in ("rule", "pick")
            and n.data["rule"] in at
            and n.data.get("answer") not in (OFF, TELL)
        ):
            at[n.data["rule"]].append(i)
    for a, b, _ in e.g.edges:
        down[a].append(b)
    rests = {a: _met(down, at, a) for a in at}
    before = {a: [b for b in at if b in rests[a] and a not in rests[b]] for a in at}
    longest: dict[str, tuple] = {}

    def chain(a: str) -> tuple:
        if a not in longest:
            longest[a] = (*max((chain(b) for b in before[a]), key=len, default=()), a)
        return longest[a]

    return max((chain(a) for a in at if at[a]), key=len, default=())


def _met(down: dict[str, list], at: dict[str, list], rule: str) -> set:
    """Of the rules that stand *at* nodes of a derivation, those that *rule* rests on in any number
    of steps, wherever it stands.
    """
    where = {i: r for r, nodes in at.items() for i in nodes}
    seen, stack = set(), list(at[rule])
    while stack:
        for b in down[stack.pop()]:
            for n in at[where[b]] if b in where else (b,):
                if n not in seen:
                    seen.add(n)
                    stack.append(n)
    return {where[i] for i in seen if i in where}


def _ordered(maker: Maker, m: Model, body, facts, rng, only):
    """Order the reasons: what is wrong here is an order, and no option."""
    rules, _ = maker._concluded(m, maker.settled(m, body).lawful(), True)
    if rules is None or len(rules) < 3:
        return None
    options = [Option(maker.k.rules[i].said, i, True) for i in rules]
    key = Option(" / ".join(o.text for o in options), rules, True)
    rng.shuffle(options)
    return key, tuple(options), None, ""


_MAKERS = {
    "asks": _by_value,
    "judges": _by_value,
    "governs": _governs,
    "findings": _findings,
    "missing": _missing,
    "under": _under,
    "mends": _mends,
    "order": _ordered,
}

"""Question models: a stem, the facts drawn, what is asked; and the instances of a model, each from a seed.

A model types in no answer. The facts are drawn, the job is run, and the key is what the rules in force conclude; a
wrong option is what they conclude under a belief (`beliefs`). The same seed gives the same question, byte for byte.
"""

from __future__ import annotations

import decimal
import random
import re
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

from .beliefs import Belief, held
from .chain import ADVICE, FAILS, OFF, PASSES, SET_ASIDE, TELL, World
from .errors import Collector, Fault, Faults, Place, suggest
from .expressions import NONE
from .graph import show, unit_shown
from .job import read_job
from .knowledge import KB, Knowledge
from .library import shown_name
from .reading import Mapping, decode, place_of, read_bytes, read_yaml
from .units import EXACT, Range, in_unit, number_text
from .words import as_list

KEYS = ("question", "room", "stem", "draws", "job", "asks", "judges", "governs", "findings", "missing", "under", "mends", "order", "rule", "difficulty", "unit", "options", "beliefs", "keeps", "note")
KINDS = ("asks", "judges", "governs", "findings", "missing", "under", "mends", "order")   # what is asked: exactly one, or asks with under
TRIES = 25      # draws of facts before a seed is given up


@dataclass
class Model:
    """One question model, its form checked against the knowledge."""

    name: str
    room: str
    kind: str
    stem: str
    draws: dict[str, list]
    job: Mapping
    rule: str
    d: Mapping
    at: Place
    cone: frozenset = frozenset()
    touched: frozenset = frozenset()      # the rules, tables and values its answer may rest on

    @property
    def difficulty(self) -> int:
        """1 (one step) to 4 (several rules that pull against each other), as its author judged."""
        return int(str(self.d.get("difficulty", 2)))

    @property
    def size(self) -> int:
        """How many different draws there are."""
        n = 1
        for v in self.draws.values():
            n *= len(v)
        return n


@dataclass
class Option:
    """One answer to choose: its text, its exact value, and whose belief makes it (none for the key)."""

    text: str
    value: object
    belief: str = ""
    says: str = ""


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
    thing: str = ""
    place: int | None = None              # where the key was asked to be

    @property
    def name(self) -> str:
        """What makes this question again: its model, its seed, and where its key was asked to be."""
        return f"{self.model.name}:{self.seed}" + (f":{self.place}" if self.place is not None else "")

    @property
    def position(self) -> int:
        return next(i for i, o in enumerate(self.options) if not o.belief)


def read_models(k: Knowledge, folder: Path | None = None) -> dict[str, Model]:
    """Every shipped model by its name, checked against *k*. Raises Faults with everything wrong."""
    faults, out = Collector(), {}
    for path in sorted((folder or KB / "questions").glob("*.yaml")):
        name = shown_name(path)
        with faults.catching():
            body = read_yaml(decode(read_bytes(path, name), name), name)
            if not isinstance(body, list):
                raise Fault("question-form", place_of(body, Place(name)), "a file of questions is a list", "begin each with - question: and its name")
            for d in body:
                with faults.catching():
                    m = _read(d, path.stem, k, faults)
                    if m.name in out:
                        raise Fault("id-in-use", m.at, f'"{m.name}" is already at {out[m.name].at}', "give it a name of its own")
                    out[m.name] = m
    faults.stop()
    return out


def _read(d, room: str, k: Knowledge, faults: Collector) -> Model:
    at = place_of(d)
    if not isinstance(d, dict) or not isinstance(d.get("question"), str):
        raise Fault("question-form", at, "this is no question model", "write - question: its name, stem:, draws:, job: and what is asked")
    for key in d:
        if key not in KEYS:
            faults.add("question-key", place_of(key), f'a question takes no "{key}"', suggest(str(key), KEYS))
    kinds = [x for x in KINDS if x in d]
    kind = "under" if set(kinds) == {"asks", "under"} or set(kinds) == {"judges", "under"} else kinds[0] if len(kinds) == 1 else ""
    if not kind:
        raise Fault("question-form", at, f'{d["question"]} asks {"several things" if kinds else "nothing"}', "write one of: " + ", ".join(KINDS))
    if not isinstance(d.get("stem"), str) or not isinstance(d.get("job"), dict):
        raise Fault("question-form", at, f'{d["question"]} has no stem or no job', "write stem: a sentence with {facts} and job: what is the same in every draw")
    draws = {}
    for fact, said in (d.get("draws") or {}).items():
        draws[str(fact)] = drawn_from(said, place_of(said, at))
    for name in re.findall(r"\{([^{}]+)\}", d["stem"]):
        if name not in draws and not (kind == "under" and name in ("other", "edition")):
            faults.add("question-word", place_of(d["stem"], at), f'the stem says "{{{name}}}", and nothing of that name is drawn', suggest(name, draws))
    m = Model(str(d["question"]), str(d.get("room", room)), kind, " ".join(str(d["stem"]).split()), draws, d["job"], str(d.get("rule", "")), d, at)
    if m.rule and m.rule not in k.rules and m.rule not in k.absent:
        faults.add("no-such-rule", place_of(d["rule"], at), f'"{m.rule}" is no rule', suggest(m.rule, k.rules))
    with faults.catching():
        starts = _starts(m, k)
        m.cone = cone(k, starts)
        m.touched = _touched(k, m.cone)
    return m


def drawn_from(said, at: Place) -> list[str]:
    """The values of a draw: a list, `a | b | c`, or `16 A to 48 A step 2 A`."""
    if isinstance(said, list):
        return [str(v) for v in said]
    text = str(said)
    if m := re.fullmatch(r"([\d.]+)(.*?) to ([\d.]+)(.*?) step ([\d.]+)(.*)", text):
        (lo, a, hi, b, step, _), unit = m.groups(), m[2].strip()
        v, top, by, out = Fraction(lo), Fraction(hi), Fraction(step), []
        if a.strip() != b.strip() or by <= 0 or top < v or (top - v) / by > 2000:
            raise Fault("question-draw", at, f'"{text}" draws nothing, or too much', "write 16 A to 48 A step 2 A")
        while v <= top:
            out.append(f"{number_text(v)} {unit}".strip())
            v += by
        return out
    return [p.strip() for p in text.split("|")]


# ---- what is asked ----------------------------------------------------------------------------------------------------

def _place(text: str, k: Knowledge, m: Model, sep: str) -> tuple[str, str]:
    what, _, thing = text.partition(sep)
    if not thing:
        raise Fault("question-form", m.at, f'"{text}" does not say of what', f"write WHAT{sep}circuits.shop.conductors")
    return what.strip(), thing.strip()


def _kind_of(thing: str, k: Knowledge) -> str:
    """The kind of a thing by its path: circuits.shop.conductors."""
    kind, parts = "job", thing.split(".")
    i = 0
    while i < len(parts):
        w = k.words.kinds[kind].words.get(parts[i])
        if w is None or w.type[0] not in ("ref", "many"):
            raise Fault("question-word", Place(thing), f'"{thing}" is no thing: {kind} has no "{parts[i]}"', suggest(parts[i], k.words.kinds[kind].words))
        kind = w.type[1]
        i += 2 if w.type[0] == "many" else 1
    return kind


def _starts(m: Model, k: Knowledge) -> list[tuple]:
    d = m.d
    if "asks" in d:
        fact, thing = _place(str(d["asks"]), k, m, " of ")
        kind = _kind_of(thing, k)
        if fact not in k.words.kinds[kind].words:
            raise Fault("question-word", place_of(d["asks"], m.at), f'{kind} has no "{fact}"', suggest(fact, k.words.kinds[kind].words))
        rules = [("cell", kind, fact, "")]
    else:
        rules = []
    for key in ("judges", "findings", "governs", "missing", "mends", "keeps"):
        if key in d:
            for one in as_list(d[key]):
                rule, thing = _place(str(one), k, m, " on ")
                if rule not in k.rules and rule not in k.absent:
                    raise Fault("no-such-rule", place_of(one, m.at), f'"{rule}" is no rule', suggest(rule, k.rules))
                if rule in k.rules:
                    rules.append(("rule", rule, ""))
    if "order" in d:
        fact, thing = _place(str(d["order"]), k, m, " of ")
        rules.append(("cell", _kind_of(thing, k), fact, ""))
    return rules


def cone(k: Knowledge, starts) -> frozenset:
    """The nodes of the order that *starts* rest on."""
    seen, stack = set(), list(starts)
    while stack:
        n = stack.pop()
        if n not in seen:
            seen.add(n)
            stack.extend(k.order.needs.get(n, ()))
    return frozenset(seen)


def _touched(k: Knowledge, nodes: frozenset) -> frozenset:
    out: set[str] = set()
    for n in nodes:
        if n[0] in ("rule", "pick", "try"):
            r = k.rules[n[1]]
            out |= {r.id} | r.reads_tables | r.reads_values
    return frozenset(out)


def run(k: Knowledge, job, nodes: frozenset) -> World:
    """The job under *k*, as far as *nodes* go."""
    w = World(k, job)
    kinds = frozenset(kind for kind, xs in w.by_kind.items() if xs)
    key = (kinds, nodes)
    program = k._programs.get(key)
    if program is None:
        program = k._programs[key] = [n for n in k.program(kinds) if n in nodes or n[0] == "block" and nodes & set(n[2])]
    with decimal.localcontext(EXACT):
        for n in program:
            w.step(n)
    return w


class Trial:
    """One job to be run under several beliefs: it is read once, and its cells are put back before each run."""

    def __init__(self, k: Knowledge, body: Mapping) -> None:
        self.k, self.body = k, body
        self.job = read_job(body, k, "question")
        self._told = [(x, x[:]) for x in self.job.things.values()]

    def under(self, k: Knowledge, nodes: frozenset) -> World:
        """The job run under *k*, which has the same facts."""
        if k.slots is not self.k.slots:   # put together anew: its cells lie elsewhere
            return run(k, read_job(self.body, k, "question"), nodes)
        for x, told in self._told:
            x[:] = told
        return run(k, self.job, nodes)


# ---- instances --------------------------------------------------------------------------------------------------------

def filled(template, facts: dict[str, str]):
    """*template* with every {fact} written out."""
    if isinstance(template, dict):
        out = Mapping((k, filled(v, facts)) for k, v in template.items())
        out.at = place_of(template)
        return out
    if isinstance(template, list):
        return [filled(v, facts) for v in template]
    return re.sub(r"\{([^{}]+)\}", lambda m: facts.get(m[1], m[0]), str(template))


class Maker:
    """Makes instances of models under one law and a set of beliefs; what a belief does to the rules is worked out once."""

    def __init__(self, k: Knowledge, beliefs: dict[str, Belief], other: Knowledge | None = None) -> None:
        self.k, self.beliefs, self.other = k, beliefs, other
        self._held: dict[tuple, Knowledge | None] = {}

    def held(self, *names: str) -> Knowledge | None:
        """The knowledge under beliefs; None where they cannot be held under this law."""
        key = tuple(names)
        if key not in self._held:
            try:
                self._held[key] = held(self.k, *(self.beliefs[n] for n in names))
            except (Fault, Faults):
                self._held[key] = None
        return self._held[key]

    def relevant(self, m: Model) -> list[str]:
        """The beliefs that could change the answer of a model."""
        named = [str(n) for n in as_list(m.d.get("beliefs"))]
        return [n for n in named if n in self.beliefs] if named else [n for n, b in self.beliefs.items() if b.touches & m.touched]

    def value(self, m: Model, trial: Trial, k: Knowledge):
        """(value, unit) of what *m* asks, under *k*; (None, "") where it cannot be told."""
        w = trial.under(k, m.cone)
        d = m.d
        if "asks" in d:
            fact, thing = _place(str(d["asks"]), k, m, " of ")
            x = w.things.get(thing)
            if x is None:
                return None, ""
            word = k.words.kinds[x[0].kind].words[fact]
            v = x[word.slot]
            if v is None or isinstance(v, (Range, list)) or v is NONE:
                return None, ""
            return v, str(d.get("unit", "")) or unit_shown(x, fact, word.unit) or ""
        a = _answer(w, k, str(d["judges"]))
        if k is not self.k and a == OFF:   # who does not know the rule is stopped by nothing
            a = PASSES
        return PASSES if a == SET_ASIDE else a, ""

    def kept(self, m: Model, body: Mapping) -> bool:
        """Whether a draw is one that a job would have: the rules that the model `keeps` pass on it."""
        if "keeps" not in m.d:
            return True
        w = Trial(self.k, body).under(self.k, m.cone)
        return all(_answer(w, self.k, str(s)) in (PASSES, SET_ASIDE) for s in as_list(m.d["keeps"]))

    # ---- one instance
    def instance(self, m: Model, seed: int, position: int | None = None, only: str = "") -> Instance | None:
        """The instance of *m* from *seed*; None where no draw gives a key and two wrong options that differ.

        *position* asks for the place of the key among the options, *only* for a belief that must be among them.
        """
        rng = random.Random(f"{m.name}:{seed}:{position}:{only}")
        for _ in range(TRIES):
            facts = {n: rng.choice(v) for n, v in m.draws.items()}
            body = filled(m.job, facts)
            if not self.kept(m, body):
                continue
            got = _MAKERS[m.kind](self, m, seed, facts, body, rng, position, only)
            if got is not None:
                got.place = position
                return got
        return None

    def again(self, models: dict[str, Model], name: str) -> Instance:
        """The question called *name* (model:seed or model:seed:place), made again. Raises Fault where it is none."""
        model, *rest = name.split(":")
        if model not in models:
            raise Fault("no-such-question", Place(name), f'no question model is called "{model}"', suggest(model, models))
        if not 1 <= len(rest) <= 2 or not all(r.isdigit() for r in rest):
            raise Fault("no-such-question", Place(name), "a question is called by its model and its seed", f"write {model}:1")
        got = self.instance(models[model], int(rest[0]), int(rest[1]) if len(rest) == 2 else None)
        if got is None:
            raise Fault("no-such-question", Place(name), "no question comes of this seed under this law", "take another seed")
        return got


def _answer(w: World, k: Knowledge, said: str) -> str | None:
    rule, _, thing = said.partition(" on ")
    r, x = k.rules.get(rule.strip()), w.things.get(thing.strip())
    if x is None:
        return None
    if r is None:
        return OFF
    return str(w.answer(r, x))


def text_of(v, unit: str) -> str:
    """A value as an option shows it."""
    return show(v, unit or None)


def alike(options: list[Option], unit: str) -> None:
    """Write numbers with the same unit and the same digits."""
    values = [o.value for o in options]
    if not unit or any(isinstance(v, (str, bool)) for v in values) or unit == "date":
        return
    texts = [number_text(in_unit(v, unit)) for v in values]
    digits = max((len(t.partition(".")[2]) for t in texts), default=0)
    for o, t in zip(options, texts):
        whole, _, rest = t.partition(".")
        t = whole + ("." + rest.ljust(digits, "0") if digits else "")
        o.text = t if unit == "count" else f"{t} {unit}" if unit != "°" else f"{t}°"


def _by_value(maker: Maker, m: Model, seed: int, facts, body, rng, position, only) -> Instance | None:
    """Number or pick one: the key is the value, each wrong option another belief's value on the same facts."""
    trial = Trial(maker.k, body)
    v, unit = maker.value(m, trial, maker.k)
    if v is None or v in (OFF, TELL):
        return None
    wrong: dict[object, str] = {}
    names = maker.relevant(m)
    rng.shuffle(names)
    if only:
        names = [only, *(n for n in names if n != only)]
    for n in names:
        k = maker.held(n)
        if k is None:
            continue
        other, _ = maker.value(m, trial, k)
        if other is None or other == v or other in (OFF, TELL) or text_of(other, unit) == text_of(v, unit):
            if n == only:
                return None
            continue
        if only and other == wrong_of(wrong, only):
            continue
        wrong.setdefault(other, n)
        if len(wrong) >= (5 if position is not None else 3):
            break
    if m.kind == "judges":
        return _verdict(m, seed, facts, body, v, wrong, maker, position)
    if len(wrong) < 2:
        return None
    key = Option(text_of(v, unit), v)
    options = [Option(text_of(o, unit), o, n, maker.beliefs[n].says) for o, n in wrong.items()]
    chosen = _placed(key, options, position, _order_of(maker.k, m, v), only, rng)
    if chosen is None:
        return None
    alike(chosen, unit)
    if len({o.text for o in chosen}) < len(chosen):
        return None
    return Instance(m, seed, facts, filled(m.stem, facts), key, chosen, body, unit, str(m.d.get("asks", "")).partition(" of ")[2].strip())


def wrong_of(wrong: dict, name: str):
    return next((v for v, n in wrong.items() if n == name), None)


def _order_of(k: Knowledge, m: Model, v):
    """How the values of what is asked are ordered: as numbers, or as the rows of their table."""
    if "asks" in m.d and isinstance(v, str):
        fact, _, thing = str(m.d["asks"]).partition(" of ")
        t = k.words.kinds[_kind_of(thing.strip(), k)].words[fact.strip()].type
        if t[0] == "row":
            table = k.tables[t[1]]
            return table.order("size" if "size" in table.keys else next(iter(table.keys))).get
    return None if isinstance(v, (str, bool)) else (lambda x: x)


def _placed(key: Option, wrong: list[Option], position: int | None, order, only: str, rng) -> list[Option] | None:
    """Two or three wrong options with the key among them: in numeric order where there is one, the key at *position*."""
    if order is None:
        few = wrong[: rng.choice((2, 3))] if position is None else wrong[:3]
        place = rng.randrange(len(few) + 1) if position is None else position
        return None if place > len(few) else [*few[:place], key, *few[place:]]
    low = sorted((o for o in wrong if order(o.value) < order(key.value)), key=lambda o: order(o.value))
    high = sorted((o for o in wrong if order(o.value) > order(key.value)), key=lambda o: order(o.value))
    if position is None:
        few = wrong[:3]
        return sorted([key, *few], key=lambda o: order(o.value))
    if len(low) < position:
        return None
    take_low = _taking(low, position, only)
    take_high = _taking(high, min(3 - position, len(high)), only)
    if len(take_low) + len(take_high) < 2 or only and not any(o.belief == only for o in take_low + take_high):
        return None
    return [*take_low, key, *take_high]


def _taking(options: list[Option], n: int, only: str) -> list[Option]:
    first = sorted(options, key=lambda o: o.belief != only)[:n]
    return [o for o in options if o in first]


YES_NO = {PASSES: "Yes.", FAILS: "No.", ADVICE: "No, but that is advice, not law.", OFF: "It does not apply."}


def _verdict(m: Model, seed, facts, body, v, wrong, maker, position) -> Instance | None:
    if not wrong or v not in YES_NO:
        return None
    shown = [FAILS, PASSES] if {v, *wrong} <= {PASSES, FAILS} else [x for x in YES_NO if x in {v, *wrong}]
    options = [Option(YES_NO[x], x, "" if x == v else wrong.get(x, "?"), "" if x == v else maker.beliefs[wrong[x]].says if x in wrong else "") for x in shown]
    if any(o.belief == "?" for o in options):
        return None
    return Instance(m, seed, facts, filled(m.stem, facts), next(o for o in options if not o.belief), options, body)


def _governs(maker: Maker, m: Model, seed, facts, body, rng, position, only) -> Instance | None:
    """Which rule governs: of those named, the one that fails while all the others pass."""
    w = Trial(maker.k, body).under(maker.k, m.cone)
    said = [str(s) for s in as_list(m.d["governs"])]
    answers = {s: _answer(w, maker.k, s) for s in said}
    failing = [s for s in said if answers[s] == FAILS]
    if len(failing) != 1 or any(a is None or a == TELL for a in answers.values()) or sum(a in (PASSES, SET_ASIDE) for a in answers.values()) < 2:
        return None
    rule = failing[0].partition(" on ")[0].strip()
    key = Option(_short(maker.k, rule), rule)
    wrong = [Option(_short(maker.k, i), i, "passes here", f"{i} passes on these facts.") for i in dict.fromkeys(s.partition(" on ")[0].strip() for s in said if answers[s] in (PASSES, SET_ASIDE)) if i != rule]
    rng.shuffle(wrong)
    chosen = _placed(key, wrong, position, None, "", rng)
    return chosen and Instance(m, seed, facts, filled(m.stem, facts), key, chosen, body, thing=failing[0].partition(" on ")[2].strip())


def _short(k: Knowledge, rule: str) -> str:
    r = k.rules[rule]
    said = str(r.d.get("answers", {}).get("short") or "")
    return (said if said and "{" not in said else r.said)


def _findings(maker: Maker, m: Model, seed, facts, body, rng, position, only) -> Instance | None:
    """Pick all that fail."""
    w = Trial(maker.k, body).under(maker.k, m.cone)
    said = [str(s) for s in as_list(m.d["findings"])]
    answers = {s: _answer(w, maker.k, s) for s in said}
    if any(a is None or a == TELL for a in answers.values()):
        return None
    judged = [s for s in said if answers[s] in (FAILS, PASSES, SET_ASIDE)]
    failing = [s.partition(" on ")[0].strip() for s in judged if answers[s] == FAILS]
    if not failing or len(failing) == len(judged) or len(judged) < 3:
        return None
    options = []
    for s in judged:
        rule = s.partition(" on ")[0].strip()
        options.append(Option(maker.k.rules[rule].said, rule, "" if rule in failing else "passes here"))
    key = Option("; ".join(o.text for o in options if not o.belief), tuple(failing))
    return Instance(m, seed, facts, filled(m.stem, facts), key, options, body, thing=judged[0].partition(" on ")[2].strip())


def _missing(maker: Maker, m: Model, seed, facts, body, rng, position, only) -> Instance | None:
    """What must be known before this can be answered: the question that settles it, among some that do not."""
    from .findings import needs

    w = Trial(maker.k, body).under(maker.k, m.cone)
    rule, _, thing = str(as_list(m.d["missing"])[0]).partition(" on ")
    r, x = maker.k.rules.get(rule.strip()), w.things.get(thing.strip())
    if r is None or x is None or w.answer(r, x) != TELL:
        return None
    ns = needs(w, r, x)
    if not ns or not ns[0].ask:
        return None
    asked = {n.ask for n in ns}
    key = Option(ns[0].ask, ns[0].fact)
    wrong = [Option(str(o), str(o), "decides nothing here", "It decides nothing here.") for o in as_list(m.d.get("options")) if str(o) not in asked]
    rng.shuffle(wrong)
    if len(wrong) < 2 or len(ns) > 1:   # two open facts would be two right answers
        return None
    chosen = _placed(key, wrong, position, None, "", rng)
    return chosen and Instance(m, seed, facts, filled(m.stem, facts), key, chosen, body, thing=thing.strip())


def _under(maker: Maker, m: Model, seed, facts, body, rng, position, only) -> Instance | None:
    """What another law says of the same facts: the answer of the law at hand is the wrong option that tells."""
    if maker.other is None:
        return None
    trial = Trial(maker.k, body)
    there, unit = maker.value(_in(m, maker.other), Trial(maker.other, body), maker.other)
    here, _ = maker.value(m, trial, maker.k)
    if there is None or here is None or there in (TELL,) or here in (TELL,):
        return None
    stem = filled(m.stem, {**facts, "other": maker.other.edition, "edition": maker.k.edition})
    if isinstance(there, str) and there in YES_NO and here in YES_NO:
        shown = [x for x in YES_NO if x in {there, here, FAILS, PASSES}]
        options = [Option(YES_NO[x], x, "" if x == there else "the other edition", f"That is the answer under {maker.k.edition}." if x == here else "Neither edition says so.") for x in shown]
        return Instance(m, seed, facts, stem, next(o for o in options if not o.belief), options, body) if there != here else None
    if there == here:
        return None
    key = Option(text_of(there, unit), there)
    wrong = [Option(text_of(here, unit), here, "the other edition", f"That is the answer under {maker.k.edition}.")]
    for n in maker.relevant(m):
        k = maker.held(n)
        v = maker.value(m, trial, k)[0] if k else None
        if v is not None and v not in (there, here) and text_of(v, unit) not in {o.text for o in wrong}:
            wrong.append(Option(text_of(v, unit), v, n, maker.beliefs[n].says))
    if len(wrong) < 2:
        return None
    chosen = _placed(key, wrong[:3], None, _order_of(maker.k, m, there), "", rng)
    alike(chosen, unit)
    return Instance(m, seed, facts, stem, key, chosen, body, unit)


def _in(m: Model, k: Knowledge) -> Model:
    from dataclasses import replace

    return replace(m, cone=cone(k, _starts(m, k)))


def _mends(maker: Maker, m: Model, seed, facts, body, rng, position, only) -> Instance | None:
    """What would make it legal: each option is a change to the job; exactly one of those offered lets the rule pass."""
    rule, _, thing = str(as_list(m.d["mends"])[0]).partition(" on ")
    w = Trial(maker.k, body).under(maker.k, m.cone)
    if _answer(w, maker.k, str(as_list(m.d["mends"])[0])) not in (FAILS, ADVICE):
        return None
    right, wrong = [], []
    for text, change in m.d["options"].items():
        after = _changed(body, filled(change, facts))
        a = _answer(Trial(maker.k, after).under(maker.k, m.cone), maker.k, str(as_list(m.d["mends"])[0]))
        if a in (PASSES, SET_ASIDE):
            right.append(Option(filled(str(text), facts), str(text)))
        elif a in (FAILS, ADVICE):
            wrong.append(Option(filled(str(text), facts), str(text), "still fails", f"{rule.strip()} still fails then."))
    if not right or len(wrong) < 2:
        return None
    rng.shuffle(wrong)
    key = rng.choice(right)
    chosen = _placed(key, wrong, position, None, "", rng)
    return chosen and Instance(m, seed, facts, filled(m.stem, facts), key, chosen, body, thing=thing.strip())


def _changed(body: Mapping, change: Mapping) -> Mapping:
    """*body* with what *change* says put over it, at any depth; a list takes the change in its first item."""
    out = Mapping(body)
    for k, v in change.items():
        old = next((o for o in out if str(o) == str(k)), k)
        if isinstance(v, dict) and isinstance(out.get(old), dict):
            out[old] = _changed(out[old], v)
        elif isinstance(v, dict) and isinstance(out.get(old), list) and out[old]:
            out[old] = [_changed(out[old][0], v), *out[old][1:]]
        else:
            out[old] = v
    return out


def _ordered(maker: Maker, m: Model, seed, facts, body, rng, position, only) -> Instance | None:
    """Order the reasons: the rules behind a fact, in the order in which each needs the one before."""
    from .graph import Explainer

    w = Trial(maker.k, body).under(maker.k, m.cone)
    fact, _, thing = str(m.d["order"]).partition(" of ")
    x = w.things.get(thing.strip())
    if x is None or x[maker.k.words.kinds[x[0].kind].words[fact.strip()].slot] is None:
        return None
    e = Explainer(w)
    e.fact(x, fact.strip())
    rules = []
    for n in e.g.nodes.values():
        if n.kind == "rule" and n.data.get("answer") not in (OFF, TELL) and n.data["rule"] in {str(s) for s in as_list(m.d["options"])} and n.data["rule"] not in rules:
            rules.append(n.data["rule"])
    at = {node: i for i, node in enumerate(maker.k.order.sequence)}
    rules.sort(key=lambda i: at.get(("rule", i, ""), 0))
    if len(rules) < 3:
        return None
    key = Option(" / ".join(_short(maker.k, i) for i in rules), tuple(rules))
    options = [Option(_short(maker.k, i), i, "") for i in rules]
    rng.shuffle(options)
    return Instance(m, seed, facts, filled(m.stem, facts), key, options, body, thing=thing.strip())


_MAKERS = {"asks": _by_value, "judges": _by_value, "governs": _governs, "findings": _findings, "missing": _missing, "under": _under, "mends": _mends, "order": _ordered}

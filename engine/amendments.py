"""A pack of edits looked at as its writer should see it: on every day it names, each edit said back, each shown to do something.

An edit is right when it means what was meant. Nobody but its writer knows that, so this says back what was understood,
asks for an example that comes out otherwise because of the edit and one that does not, and runs both with and without.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date as Date
from datetime import timedelta
from pathlib import Path

from .applying import fingerprint
from .chain import OFF, World
from .edits import CHANGES, LAXER, STRICTER, Edit
from .errors import Collector, Fault, Faults, suggest
from .examples import Stub, run_example, show
from .knowledge import KB, Knowledge
from .library import Library, Pack
from .meanings import quoted, said_back
from .places import known_packs
from .reading import place_of
from .rules import EDITIONS, FILLING, JUDGING
from .words import as_list

EXAMPLE_KEYS = ("rule", "given", "answer", "gives", "because", "note")


@dataclass
class Move:
    """One example of an edit: what comes out with the edit, and what without."""

    edit: Edit
    number: int
    without: str
    within: str

    @property
    def moved(self) -> bool:
        return self.without != self.within

    @property
    def direction(self) -> str:
        """Which way the answer went."""
        worse = {"passes": 0, OFF: 0, "exception applies": 0, "advice": 1, "cannot tell": 2, "fails": 3}
        a, b = worse.get(self.without), worse.get(self.within)
        return CHANGES if a is None or b is None or a == b else STRICTER if b > a else LAXER


@dataclass
class Review:
    """What `check` says of a pack."""

    pack: Pack
    editions: list[str]
    days: list[str]
    edits: list[Edit] = field(default_factory=list)
    moves: list[Move] = field(default_factory=list)
    notices: list[str] = field(default_factory=list)
    faults: Collector = field(default_factory=Collector)


def review(folder: Path) -> Review:
    """Look at the pack in *folder* on every day it names. Raises Faults where it cannot be read at all."""
    folder = Path(folder)
    below = _below(folder)
    library = Library((*below, folder))
    library.faults.stop()
    pack = next(p for p in library.packs if p.folder.resolve() == folder.resolve())
    got = Review(pack, _editions(pack, library), [])
    got.days = _days(library, pack)
    seen: set[str] = set()
    tried: dict[tuple, Knowledge] = {}
    for edition in got.editions:
        for day in got.days:
            if not _adopted(pack, library, edition, day):
                continue
            mine = Collector()
            k = None
            with mine.catching():
                k = library.in_force(edition, day, faults=mine)
            for f in mine.items:
                if (key := f"{f.code} {f.at} {f.what}") not in seen:
                    seen.add(key)
                    if len(got.days) > 1 and day != got.days[-1] and _by_date(pack):
                        f.what += f" (for a permit of {day})"
                    got.faults.items.append(f)
            if k is not None and not mine.items:
                tried[edition, day] = k
    got.edits = pack.edits
    for e in pack.edits:
        at = [(ed, d) for (ed, d) in tried if e.holds_on(d)]
        if not at:
            if not any(e.holds_on(d) and _adopted(pack, library, ed, d) for ed in got.editions for d in got.days):
                got.faults.add("edit-never", e.at, f"{e.name} is in force on no day for which an edition is adopted", "look at its from: and until:, and at those of the pack")
            continue
        _look(e, library, *at[-1], tried[at[-1]], got)
    got.faults.items.sort(key=lambda f: f.at)
    return got


def _below(folder: Path) -> list[Path]:
    """The packs that the one in *folder* lies within, lowest first."""
    from .places import _chain, head_of

    faults = Collector()
    try:
        head, known = head_of(folder, faults), known_packs()
    except (Fault, Faults):
        return []
    known = {n: p for n, p in known.items() if p.folder.resolve() != folder.resolve()}
    return [p.folder for p in reversed(_chain(head, known, Collector())[1:])]


def _editions(pack: Pack, library: Library) -> list[str]:
    adopting = next((p for p in reversed(library.packs) if p.adopts), None)
    said = [w.edition for w in adopting.adopts] if adopting else [str(e) for e in as_list(pack.head.get("editions"))] or [e for e in EDITIONS if e != "2026"]
    return sorted(dict.fromkeys(said))


def _days(library: Library, pack: Pack) -> list[str]:
    """Every day on which something begins, and the one before the first; of the packs below too."""
    named = library.dates()
    if not named:
        return [Date(2026, 1, 1).isoformat()]
    before = (Date.fromisoformat(named[0]) - timedelta(days=1)).isoformat()
    return [before, *named]


def _adopted(pack: Pack, library: Library, edition: str, day: str) -> bool:
    adopting = next((p for p in reversed(library.packs) if p.adopts), None)
    return adopting is None or any(w.edition == edition and (w.start or "0") <= day < (w.end or "9999") for w in adopting.adopts)


def _by_date(pack: Pack) -> bool:
    return any(e.start or e.end for e in pack.edits)


def _look(e: Edit, library: Library, edition: str, day: str, k: Knowledge, got: Review) -> None:
    """See that one edit says what it was written over, what it means, and shows what it does."""
    faults = got.faults
    bare = library.material(edition, day, without=[x for p in library.packs for x in p.edits], faults=Collector())
    if e.verb not in ("add",) and not e.d.get("of"):
        print_ = fingerprint(bare, e.target) or fingerprint(library.material(edition, day, without=[x for x in got.pack.edits], faults=Collector()), e.target)
        faults.add("of-missing", e.at, f"{e.name} does not say what it was written over", f"read {e.target} (whywire rules {e.target}) and add of: {print_}")
    library.material(edition, day, faults=Collector())   # what each edit did, on this day
    means = said_back(e)
    if not e.d.get("meaning"):
        faults.add("meaning-missing", e.at, f"{e.name} was understood so: {means}", f"if that is what is meant, add meaning: {quoted(means)}")
    moves = _moves(e, library, edition, day, k, got)
    got.moves += moves
    ways = {m.direction for m in moves if m.moved} - {CHANGES}
    laxer = e.done.get("direction") == LAXER or (e.done.get("direction") == CHANGES and LAXER in ways)
    if laxer and str(e.d.get("relieves", "")) != "yes":
        faults.add("relieves", e.at, f"{e.name} asks less than what stands below it", "if that is meant, add relieves: yes")
    elif str(e.d.get("relieves", "")) == "yes" and not laxer and e.done.get("direction") == STRICTER:
        faults.add("relieves", place_of(e.d["relieves"], e.at), f"{e.name} says that it relieves, and it asks more", "leave relieves: out, or look at what the edit does")
    if e.done.get("same"):
        return
    if not any(m.moved for m in moves):
        faults.add("example-needed", e.at, f"no example of {e.name} comes out otherwise because of it", "add examples: with one that does, as in - {rule: " + str(_rule_of(e, k)) + ", given: {...}, answer: fails}")
    if not any(not m.moved for m in moves):
        faults.add("example-needed", e.at, f"no example of {e.name} shows a case that it leaves alone", "add one to its examples:")
    _old_examples(e, library, edition, day, k, got)


def _rule_of(e: Edit, k: Knowledge) -> str:
    if e.target in k.rules:
        targets = k.rules[e.target].exception_to
        return targets[0] if targets else e.target
    for r in k.rules.values():
        used = {**r.c.tables_used, **r.c.values_used} if hasattr(r, "c") else {}
        if e.target in used:
            return r.id
    return "RULE"


def _moves(e: Edit, library: Library, edition: str, day: str, k: Knowledge, got: Review) -> list[Move]:
    out: list[Move] = []
    said = e.d.get("examples", [])
    if not isinstance(said, list):
        got.faults.add("example-form", place_of(said, e.at), f'{e.name}: "examples" is a list', "write each with a dash: - {given: {...}, answer: fails}")
        return out
    bare = None
    for n, d in enumerate(said, 1):
        at = place_of(d, e.at)
        if not isinstance(d, dict):
            got.faults.add("example-form", at, f"{e.name}: an example is {{given: ..., answer: ...}}", "see kb/README.md, Packs")
            continue
        for key in d:
            if key not in (*EXAMPLE_KEYS, "holds"):
                got.faults.add("example-key", place_of(key), f'an example takes no "{key}"', suggest(str(key), EXAMPLE_KEYS))
        if bare is None:
            try:
                bare = library.in_force(edition, day, without=[e], faults=Collector())
            except Faults:   # others stand on it: see the whole pack away
                bare = library.in_force(edition, day, without=got.pack.edits, faults=Collector())
        rule = str(d.get("rule", e.target))
        with got.faults.catching():
            if rule not in k.rules and rule not in bare.rules:
                raise Fault("no-such-rule", place_of(d.get("rule"), at), f'the example names "{rule}", and there is no such rule', suggest(rule, {**bare.rules, **k.rules}))
            within, without = verdict(k, rule, d), verdict(bare, rule, d)
            want = wanted(d, e, at)
            if within != want:
                got.faults.add("example-otherwise", at, f"{e.name}, example {n}: {rule} was to come out as {want}, and comes out as {within}", "correct the example, or the edit")
            out.append(Move(e, n, without, within))
    return out


def wanted(d, e: Edit, at) -> str:
    """What an example of an edit expects, as text."""
    if "answer" in d:
        return str(d["answer"])
    if "holds" in d:
        return f"holds: {d['holds']}"
    if isinstance(d.get("gives"), dict):
        return ", ".join(f"{f}: {v}" for f, v in d["gives"].items())
    raise Fault("example-form", at, f"{e.name}: this example expects nothing", "add answer: or gives:")


def verdict(k: Knowledge, rule: str, d) -> str:
    """What *rule* says of the things that an example gives, exceptions and all: an answer, or what it fills."""
    r = k.rules.get(rule)
    if r is None:
        return f"holds: {'no'}" if "holds" in d else OFF if "answer" in d else ", ".join(f"{f}: unknown" for f in d.get("gives", {}))
    w = World.__new__(World)
    w.k, w.fired = k, 0
    x = Stub(k).thing(r.about, d.get("given", {}))

    def fire(one) -> None:
        for e in k.order.exceptions.get(one.id, ()):
            fire(e)
        w.fire(one, x)
    fire(r)
    if "holds" in d:
        v = x[k.holds[r.id]] if r.id in k.holds else x[k.slots[r.id]]
        return "holds: " + {True: "yes", False: "no", None: "cannot tell"}[v]
    if r.verb in JUDGING:
        return str(w.answer(r, x))
    if r.verb in FILLING and isinstance(d.get("gives"), dict):
        said = []
        for fact in d["gives"]:
            word = k.words.kinds[r.about].words.get(str(fact))
            if word is None or (r.id, str(fact)) not in k.results:
                raise Fault("example-word", place_of(fact), f'{r.id} does not fill "{fact}"', suggest(str(fact), [f.word.name for f in r.fills]))
            aside = w.set_aside(r, x)
            v = x[k.results[r.id, word.name]] if x[k.slots[r.id]] is not False and aside is not True else None
            said.append(f"{fact}: {show(v, word.unit)}")
        return ", ".join(said)
    return "applies" if x[k.slots[r.id]] is True and w.set_aside(r, x) is not True else OFF if x[k.slots[r.id]] is False or w.set_aside(r, x) is True else "cannot tell"


def _old_examples(e: Edit, library: Library, edition: str, day: str, k: Knowledge, got: Review) -> None:
    """The rule's own examples, run under the edit: those that are true no more must be restated in the edit."""
    if e.verb not in ("amend", "narrow", "widen", "redate") or e.target not in k.rules:
        return
    r = k.rules[e.target]
    mine = [d.get("given") for d in as_list(e.d.get("examples")) if isinstance(d, dict) and str(d.get("rule", e.target)) == e.target]
    for n, d in enumerate(r.d.get("examples", []), 1):
        if not isinstance(d, dict) or d.get("given") in mine:
            continue
        try:
            o = run_example(k, r, d, n)
        except Fault:
            continue
        if not o.ok:
            given = ", ".join(f"{a}: {b}" for a, b in d.get("given", {}).items())
            key = "answer" if "answer" in d else "holds" if "holds" in d else "gives"
            got.faults.add("example-moved", e.at, f"an example of {e.target} itself (at {o.at}) is true no more: it said {o.wanted}, and now {o.got} comes out",
                           f"if that is meant, add to its examples: - {{given: {{{given}}}, " + (f"{key}: {{{o.got}}}}}" if key == "gives" else f"{key}: {o.got.removeprefix('holds: ')}}}"))


__all__ = ["Review", "Move", "review", "verdict", "KB"]

"""One job inspected: what was in force, what was derived, every finding, and the questions that can
be asked of it.
"""

from __future__ import annotations

import pickle
import sys
from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path
from typing import Any, TypeAlias

from ..basics import kept, reading
from ..basics.errors import Collector, Fault, Faults, Place
from ..basics.limits import DURABLE_THINGS
from ..basics.reading import Mapping, decode, place_of, read_bytes
from ..basics.sentinels import NONE
from ..language.knowledge import Knowledge
from ..language.rules import section_of
from ..language.things import NodeId, Thing
from ..law.places import InForce
from ..proving.as_said import all_as_said
from ..proving.graph import Explainer, Graph, exact_text, show, unit_shown
from ..reasons.tree import Entry
from ..running.chain import World
from ..running.job import mapping_alone, mapping_of, read_job
from ..running.rerun import Change, Rerun, tell
from .answers import Answer
from .causes import Causes
from .findings import Finding, assumptions, cautions, disputes, findings, not_checked
from .questions import Why
from .standing import Standing
from .whynot import WhyNot

DESIGN_AID = (
    "A design aid: it approves nothing. Local code, the manufacturer's instructions and the"
    " authority having jurisdiction decide; licensed people do the work."
)


Source: TypeAlias = str | Path | dict[Any, Any]  # a file of a job, or what such a file says

LARGEST_KEPT = 200_000  # bytes of a job's file


class Disagreement(Exception):
    """The two chainers differ on a job: a defect of ours, never an answer. ``differences`` tells
    both.
    """

    def __init__(self, job: str, differences: list[Any]) -> None:
        super().__init__(f"the two chainers differ on {job}")
        self.job, self.differences = job, differences


def body_of(source: Source) -> tuple[Mapping, str]:
    """The mapping of a job and what it is called, from a path or a dict. Raises Fault or Faults."""
    if isinstance(source, (str, Path)):
        name = str(source)
        return mapping_alone(_read(Path(source), name), name), name
    body = mapping_alone(mapping_of(source), "job")
    return body, place_of(body, Place("job"))[0]


def _read(path: Path, name: str) -> Any:
    """What the file of a job says. It is kept by its very bytes: one job is asked many questions,
    and to import a reader of YAML takes longer than to read back what it made. Raises Fault or
    Faults."""
    data = read_bytes(path, name)
    reader = Path(reading.__file__).stat()
    now = (
        kept.as_bytes(
            f"{name}\n{sys.version}\n{reader.st_size}:{reader.st_mtime_ns}:{reader.st_ctime_ns}\n"
        )
        + data
    )
    there = kept.place(f"{kept.short(name)}.job") if len(data) < LARGEST_KEPT else None
    body = kept.read(there, now, kept.unpickled)
    if body is None:
        body = reading.read_yaml(decode(data, name), name)
        kept.write(there, now, pickle.dumps(body, 5))
    return body


class _Without:
    """The answer to the rule of an *answer* as it would be without an edit of a pack."""

    def __init__(self, found: Inspection, answer: Answer) -> None:
        # packs are read only where an answer rests on one
        from ..law.library import Library

        self.found, self.rule, self.on = found, answer.rule, answer.on
        self.library = Library(found.force.folders, examples=False)

    def is_the_same(self, key: tuple[str, int] | None) -> bool:
        """Whether the rule answers the same, on the same thing, without the edit *key* names."""
        found, force = self.found, self.found.force
        edits = [e for p in self.library.packs for e in p.edits if (p.name, e.number) == key]
        try:
            k = self.library.in_force(found.k.edition, force.date, edits, Collector())
            other = Inspection(found.body, k, force=force, mended=found.mended)
            worlds = found.standing.world, other.standing.world
        except (Fault, Faults):  # what stands on it does not stand without it
            return False
        with_it, without = (_verdict(world, self.rule, self.on) for world in worlds)
        return with_it == without


def _verdict(world: World, rule: str, on: str) -> object:
    """What a rule says of a thing; None where there is no such rule, or thing."""
    if rule not in world.k.rules or on not in world.things:
        return None
    return world.answer(world.k.rules[rule], world.things[on])


def _no_second() -> Fault:
    return Fault(
        "no-second-chainer",
        Place("--chainer"),
        "durable-rules does not import here, so that nothing can be chained twice",
        "leave --chainer out: the plain chainer serves alone; or install the extra named second, on"
        " Python 3.12 or older",
    )


class Inspection:
    """The result of running the rules over a job.

    Facts, findings and answers are read off the finished run; nothing is computed twice. *chainer*
    is ``plain`` or ``both``: with both, durable-rules chains the same rules on the same job, and a
    difference raises Disagreement; ``fitting`` is both where the library imports and the job is not
    too large for it. *mended* are changes told over what the job says: a way out, taken.
    """

    def __init__(
        self,
        source: Source,
        knowledge: Knowledge,
        chainer: str = "plain",
        force: InForce | None = None,
        mended: Iterable[Change] = (),
    ) -> None:
        self.k, self.chainer = knowledge, chainer
        self.force = force or InForce(knowledge.edition, "told")
        self.body, self.name = body_of(source)
        self.job = read_job(
            self.body if isinstance(self.body, Mapping) else source, knowledge, self.name
        )
        self.mended = tuple(mended)
        tell(self.job, [change for change in self.mended if change[0] in self.job.things])
        self.w = World(knowledge, self.job).run()
        self.whatif = Rerun(self.w)
        self._findings: list[Finding] | None = None
        self._standing: Standing | None = None
        self._no_room = False
        if self.chainer == "fitting":
            self.chainer = "both" if self._compared_where_it_fits(None) else "plain"
        elif self.chainer == "both":
            self._compare(None)

    @property
    def second_fits(self) -> bool:
        """Whether the second chainer runs here, and this job is not too large for it."""
        return not self.alone

    @property
    def alone(self) -> str:
        """Why the plain chainer serves alone; nothing where the second one runs on this job."""
        from ..running import durable

        if not durable.available():
            return "the second one does not run here"
        if len(self.job.things) > DURABLE_THINGS:
            return f"{len(self.job.things)} things are more than the second one takes unasked"
        if self._no_room:
            return "there is too little memory for the second one"
        return ""

    def _compared_where_it_fits(
        self, nodes: frozenset[NodeId] | None, standing: Standing | None = None
    ) -> bool:
        """Whether *nodes* were chained by the second chainer too: there may be no room for it.
        Raises Disagreement.
        """
        from ..running.durable import NO_ROOM

        if self.second_fits:
            try:
                self._compare(nodes, standing)
            except Fault as fault:
                if fault.code != NO_ROOM:
                    raise
                self._no_room = True
        return self.second_fits

    def _compare(self, nodes: frozenset[NodeId] | None, standing: Standing | None = None) -> None:
        """Chain *nodes* by the second chainer too, of the job as it is told or as it stands. Raises
        Disagreement, or Faults where it is not installed.
        """
        from ..running import durable

        if not durable.available():
            raise Faults([_no_second()])
        world, job = (standing.world, standing.laid()) if standing else (self.w, None)
        differences = durable.agree(self.k, self.body, world, nodes, job)
        if differences:
            raise Disagreement(self.name, differences)

    def _say_what_amends(self, answer: Answer) -> None:
        """Keep "amended" for the edits without which the answer would be another: the job is run
        without each. What an answer rests on and would be the same without is said to be so.
        """
        rows = [row for row in answer.rows if row.edit]
        if not rows:
            return
        without = _Without(self, answer)
        for row in rows:
            if not without.is_the_same(row.edit):
                continue
            row.label, row.rank = "Local text", 4
            row.text = f"{row.text}: the answer is the same without it"
        # one label over several rows
        last = ""
        for row in rows:
            row.label, last = ("" if row.label == last else row.label), row.label

    def confirm(self, answer: Answer, asked: bool = True) -> None:
        """Chain what one answer rests on by durable-rules too; unless *asked*, where there is room
        for it (`alone` says whether there was). Raises Disagreement where the two differ.
        """
        from ..running.durable import cone

        kind, _, rest = answer.root.partition(":")
        starts: list[tuple] = []
        if kind == "rule":
            rule, _, thing = rest.partition("@")
            starts = [("rule", rule, self.thing(thing)[0].plane)]
            starts += [
                ("pick", p)
                for p, tests in self.k.order.tests.items()
                if self.k.rules[rule] in tests
            ]
        elif kind == "fact":
            thing, _, fact = rest.partition("/")
            x = self.thing(thing)
            starts = [("cell", x[0].kind, fact, x[0].plane)]
        elif kind == "pick":
            starts = [("pick", rest.partition("@")[0])]
        elif kind == "row":
            starts = [("pick", rest.partition("?")[2])]
        if starts:
            compare = self._compare if asked else self._compared_where_it_fits
            compare(cone(self.k, starts), self.standing)

    # ---- what was found
    @property
    def findings(self) -> list[Finding]:
        """Every requirement that applies, on everything it applies to."""
        if self._findings is None:
            self._findings = findings(self.w, self.whatif)
        return self._findings

    @property
    def in_force(self) -> list[dict[str, Any]]:
        """The packs that were in force, in the order they apply, with the edition, their days, and
        one digest of all.
        """
        heads = {p.name: p for p in self.force.packs}
        out = []
        for head in self.k.packs:
            p = heads.get(str(head["pack"]))
            out.append(
                {
                    "pack": str(head["pack"]),
                    "title": str(head.get("title", "")),
                    "authority": str(head.get("authority", "")),
                    "layer": p.layer if p else "",
                    "cite": str(head.get("cite", "")),
                    "from": p.start if p else "",
                    "until": p.end if p else "",
                    "edition": self.k.edition,
                    "edition from": self.force.edition_from,
                    "date": self.force.date or "",
                    "digest": self.k.digest,
                }
            )
        return out

    @property
    def facts(self) -> list[dict[str, Any]]:
        """Every known fact: of, is, value (exact text), unit, origin, by (rule or null), source."""
        e, out = Explainer(self.w), []
        for kind, xs in self.w.by_kind.items():
            for x in xs:
                for word in self.k.words.kinds[kind].words.values():
                    v = x[word.slot]
                    if (
                        v is None
                        or v is NONE
                        and word.type[0] == "ref"
                        or word.type[0] in ("ref", "many")
                    ):
                        continue
                    origin, by = e.origin(x, word.name)
                    written = x[0].written.get(word.name)
                    out.append(
                        {
                            "of": x[0].id,
                            "is": word.name,
                            "value": exact_text(v, word.unit),
                            "unit": word.unit or "",
                            "shown": show(v, unit_shown(x, word.name, word.unit)),
                            "origin": origin,
                            "by": by,
                            "source": (
                                self.k.section(by, x)
                                if by
                                else (str(written[2]) if written else "")
                            ),
                        }
                    )
        return out

    @property
    def design(self) -> list[dict[str, Any]]:
        """What the job needs: every fact that the vocabulary gives a name in the design."""
        e, out = Explainer(self.w), []
        for kind, xs in self.w.by_kind.items():
            for x in xs:
                for word in self.k.words.kinds[kind].words.values():
                    v = x[word.slot]
                    if word.design and v is not None:
                        origin, by = e.origin(x, word.name)
                        out.append(
                            {
                                "of": x[0].id,
                                "is": word.name,
                                "says": word.design,
                                "value": show(v, unit_shown(x, word.name, word.unit)),
                                "origin": origin,
                                "source": self.k.section(by, x) if by else "",
                            }
                        )
        return out

    @property
    def cautions(self) -> list[dict[str, Any]]:
        """What to take care of, at which moment."""
        return cautions(self.w)

    @property
    def cautions_that_hold(self) -> list[dict[str, Any]]:
        """The cautions whose conditions are known to be so."""
        slots = self.k.slots
        return [
            caution
            for caution in self.cautions
            if any(self.w.things[on][slots[caution["rule"]]] is True for on in caution["on"])
        ]

    @property
    def not_checked(self) -> list[dict[str, Any]]:
        """What was not checked for want of rules."""
        return not_checked(self.w)

    @property
    def also_said(self) -> list[dict[str, Any]]:
        """What a person said and nothing here uses: of, is, value, at."""
        return [one.as_dict() for one in self.job.also_said]

    @property
    def assumptions(self) -> list[dict[str, Any]]:
        """What was assumed or designed rather than told."""
        return assumptions(self.w)

    @property
    def as_said(self) -> list[dict[str, Any]]:
        """What was said outright where an inspector measures: of, is, value."""
        return [
            {"of": thing[0].id, "is": word.name, "value": show(thing[word.slot], word.unit)}
            for thing, word in all_as_said(self.w)
        ]

    @property
    def disputes(self) -> list[dict[str, Any]]:
        """Facts on which what was told and what follows disagree."""
        return disputes(self.w)

    @property
    def standing(self) -> Standing:
        """How the job stands: its faults, what nobody told by its tier, and the one word it comes
        to.
        """
        if self._standing is None:
            self._standing = Standing(self.w, self.whatif, self._findings, self.body, self.mended)
        return self._standing

    @property
    def exit_code(self) -> int:
        """That of the headline: 0 right (workmanship may be open), 1 not right, 3 right if, or not
        looked at.
        """
        return self.standing.exit_code

    def _repr_html_(self) -> str:
        from .note import note_of  # which is written of inspections

        return note_of(self)._repr_html_()

    def as_dict(self) -> dict[str, Any]:
        """The inspection as plain data, to the contract in DEVELOPERS.md."""
        return {
            "job": self.job.title,
            "caution": DESIGN_AID,
            "packs": self.in_force,
            "facts": self.facts,
            "findings": [f.as_dict() for f in self.findings],
            "cautions": self.cautions,
            "assumptions": self.assumptions,
            "as said": self.as_said,
            "not checked": self.not_checked,
            "disputes": self.disputes,
            "also said": self.also_said,
            "read as": [one.as_dict() for one in self.job.read_as],
        }

    # ---- questions
    @property
    def worst(self) -> str | None:
        """The thing that is asked about first."""
        return Causes(self.standing).worst

    def why(self, *words: str) -> Answer:
        """Answer ``why SUBJECT [ATTRIBUTE or RULE]``. Raises Unclear for what is not there."""
        standing = self.standing
        answer = Why(standing.world, standing.whatif, standing).question(list(words))
        self._say_what_amends(answer)
        return answer

    def why_not(self, *words: str) -> Answer:
        """Answer ``whynot SUBJECT ATTRIBUTE=VALUE``. Raises Unclear for what is not there."""
        standing = self.standing
        return WhyNot(standing.world, standing.whatif, standing).why_not(list(words))

    def reason(self, answer: Answer) -> Entry | None:
        """What an answer rests on and nothing else, as a tree; None where it is no conclusion."""
        from .reasoned import reason_of

        return reason_of(self.standing.whatif, answer)

    def derivation(self, answer: Answer) -> Graph:
        """The derivation graph that an answer rests on, with what was taken for granted."""
        return self._graph(self.standing.world, answer.root)

    def graph(self, root: str) -> Graph:
        """The derivation graph under a node such as
        ``rule:conductor-125-percent@circuits.kiln.conductors``, of the job as it is told.
        """
        return self._graph(self.w, root)

    def _graph(self, world: World, root: str) -> Graph:
        e = Explainer(world)
        kind, _, rest = root.partition(":")
        if kind == "fact":
            thing, _, fact = rest.partition("/")
            e.g.root = e.fact(thing_in(world, thing), fact)
        elif kind == "rule":
            rule, _, thing = rest.partition("@")
            e.g.root = e.rule(self.k.rules[rule], thing_in(world, thing))
        elif kind == "pick":
            rule, _, thing = rest.partition("@")
            e.g.root = e.pick(self.k.rules[rule], world.things[thing])
        elif kind == "row":
            thing, _, pick = rest.partition("?")
            y = next(y for y in world.tried[pick] if y[0].id == thing)
            e.g.root = e.row(self.k.rules[pick], y)
        return e.g

    def thing(self, thing: str) -> Thing:
        """A thing of the job, or a row that was tried, by its id."""
        return thing_in(self.w, thing)


def thing_in(world: World, thing: str) -> Thing:
    """A thing of a run, or a row that was tried in it, by its id."""
    if thing in world.things:
        return world.things[thing]
    return next(y for ys in world.tried.values() for y in ys if y[0].id == thing)


__all__ = ["Inspection", "Disagreement", "body_of", "Fraction", "Place", "place_of", "section_of"]

"""What would pass: the size that a pick took, the ways out that packs name, and where a number
flips the answer.

Every way is tried by running the job again with the change told; none is printed that was not seen
to pass. There is one run, which is told otherwise for a while (`running.rerun`): within `with
self.other(changes)` every cell is as under the changes, so what is said of the job as it is told is
read off before.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager

from ..basics.units import in_unit, number_text, parse_quantity
from ..language import expressions as ex
from ..language.rules import JUDGING, Rule
from ..language.things import members
from ..proving.graph import plain, short, show, support, unit_shown
from ..running.chain import ADVICE, FAILS, PASSES, REFERS, SET_ASIDE, TELL
from .answers import Answer, Row
from .findings import word_of
from .subjects import Subjects


class Ways(Subjects):
    """Looks for ways out."""

    def passes(self, answer: Answer, r: Rule, x: list, flips: list[dict]) -> None:
        """What would pass, each with its own number."""
        ways: list[str] = []
        best = self.chosen(r, x)
        if best is not None and not any("assumed" in f for f in flips):
            y, p = best
            row, carries = (
                show(y[0].row, p.tries_table.unit(p.tried.name)),
                self.with_margin(self, r, y),
            )
            ways.append(
                (carries if carries.startswith(row) else f"{row}: {carries}")
                + self.and_with_it(r, x[0].slot or x, p, y[0].row)
            )
        if not x[0].plane or r.about:
            ways += self.ways_out(r, x)
        ways += self.thresholds(r, x)
        for hint in r.d.get("answers", {}).get("hints", []):
            if (text := self.fill(str(hint), r, x)) is not None:
                ways.append(text)
        for i, w in enumerate(ways[:3]):
            answer.rows.append(Row("Passes" if i == 0 else "", w, rank=2 if i < 2 else 3))
        if not ways:
            slot = (x[0].slot or x)[0].id
            for p in self.k.rules.values():
                if (
                    p.verb == "tries"
                    and p.about == r.about
                    and r in self.k.order.tests[p.id]
                    and self.w.picked.get((p.id, slot), (None, [1]))[0] is None
                    and self.w.rows_of.get((p.id, slot))
                    and not self.w.picked[p.id, slot][1]
                ):
                    answer.rows.append(
                        Row(
                            "Passes",
                            f"no {p.tried.name} in this wiring method passes every test",
                            rank=3,
                        )
                    )
                    break

    def chosen(self, r: Rule, x: list):
        """The row a pick took for the thing of *x*, if *r* is one of the tests it passed; where *x*
        is too large, the largest that passes.
        """
        slot = x[0].slot or x
        for p in self.k.rules.values():
            if p.verb == "tries" and p.about == r.about and r in self.k.order.tests[p.id]:
                row, waiting = self.w.picked.get((p.id, slot[0].id), (None, []))
                told = x[0].row if x[0].plane else x[p.tried.slot]
                if row is None or waiting or row[0].row == told:
                    continue
                rows = self.w.rows_of[p.id, slot[0].id]
                at = next((n for n, y in enumerate(rows) if y[0].row == told), -1)
                below = [
                    y
                    for y in rows[: max(at, 0)]
                    if self.w.row_passes(self.k.order.tests[p.id], y) is True
                ]
                return (below[-1] if below else row), p
        return None

    @contextmanager
    def other(self, changes: list[tuple]) -> Iterator[Ways]:
        """Who speaks of the job under *changes*, for as long as it is so."""
        with self.whatif.told(changes) as w:
            yield type(self)(w, self.whatif)

    def standing(self, x: list, verbs: tuple = (*JUDGING, "refers")) -> dict[tuple, str]:
        """(rule, thing) -> the answer of what is judged on the circuit of *x*, as the job is
        told.
        """
        key = "standing", self._circuit(x)[0].id, verbs
        if key not in self.whatif.remembered:
            with self.other([]) as told:
                self.whatif.remembered[key] = {
                    (r.id, t[0].id): a for r, t, a in told.judged(told._circuit(x), verbs)
                }
        return self.whatif.remembered[key]

    def worse(self, x: list, changes: list[tuple]) -> list[tuple]:
        """(rule, thing) of what fails under *changes* on the circuit of *x* and did not, the worst
        first.
        """
        before = self.standing(x)
        with self.other(changes) as other:
            now = other.judged(other._circuit(x), (*JUDGING, "refers"))
        return [(r, t) for r, t, a in now if a == FAILS != before.get((r.id, t[0].id))]

    def unsettled(self, x: list, changes: list[tuple]) -> list[tuple]:
        """(rule, thing) of what is refused or cannot be told under *changes* on the circuit of *x*
        and was not, or compares what is changed.
        """
        before, out = self.standing(x), []
        with self.other(changes) as other:
            for r, t, a in other.judged(other._circuit(x), (*JUDGING, "refers")):
                was = before.get((r.id, t[0].id))
                if a == REFERS != was or (
                    a == TELL
                    and r.verb != "refers"
                    and (
                        was not in (TELL, FAILS)
                        or was == TELL
                        and any(other.compares(r, t, *c[:2]) for c in changes)
                    )
                ):
                    out.append((r, t))
        return out

    def compares(self, r: Rule, x: list, thing: str, fact: str) -> bool:
        """Whether the comparison of a rule rests on a fact; where only its conditions do, another
        fact keeps it waiting.
        """
        g, due, seen = support(self.w, r, x), [], set()
        on: dict[str, list] = {}
        for a, b, role in g.edges:
            on.setdefault(a, []).append((b, role))
        due += [b for b, role in on.get(g.root, ()) if role == r.verb]
        while due:
            n = due.pop()
            if n not in seen:
                seen.add(n)
                due += [b for b, _ in on.get(n, ())]
        return f"fact:{thing}/{fact}" in seen

    def advised(self, x: list, changes: list[tuple]) -> list[tuple[Rule, list]]:
        """What good practice would have on the circuit of *x* under *changes*, and had not
        before.
        """
        before = self.standing(x)
        with self.other(changes) as other:
            return [
                (r, t)
                for r, t, a in other.judged(other._circuit(x))
                if a == ADVICE and before.get((r.id, t[0].id)) not in (ADVICE, FAILS)
            ]

    def and_with_it(self, r: Rule, slot: list, p: Rule, row: str) -> str:
        """What a row that passes asks of the rest of the circuit: a breaker of the next size may
        want a larger wire behind it.
        """
        changes = [(slot[0].id, p.tried.name, row)]
        new = self.worse(slot, changes)
        if not new:
            newly = [
                t.id
                for t, y in self.unsettled(slot, changes)
                if self.w.answer(t, y) in (PASSES, SET_ASIDE)
            ]
            return f"; {newly[0]} could then not be told" if newly else ""
        t, y = new[0]
        with self.other(changes) as other:
            best = other.chosen(t, y)
        if best is not None and (y[0].slot or y) is not slot:
            (z, q), end = best, (y[0].slot or y)[0].id
            if not self.worse(slot, [*changes, (end, q.tried.name, z[0].row)]):
                return (
                    f", with {short(self.w.things[end])} of"
                    f" {show(z[0].row, q.tries_table.unit(q.tried.name))}"
                )
        return f"; {short(y)} then fails {t.id}"

    def have(self, r: Rule, x: list) -> str:
        """What there is, before something is told otherwise."""
        return self.side_texts(r, x)[0] if isinstance(r.test, ex.Cmp) else ""

    def with_margin(self, why: Subjects, r: Rule, y: list, before: str | None = None) -> str:
        """What the changed side then is, and the margin; *before* is what there was."""
        if not isinstance(r.test, ex.Cmp):
            return "passes"
        m, (have, needed) = why.margin(r, y), why.side_texts(r, y)
        if y[self.k.slots[r.id]] == FAILS:  # short as ever, and an exception lets it pass
            m = "; ".join(
                f"allowed by {e.id}, {why.source(e, y)}".removesuffix(", ")
                for e in self.k.order.exceptions.get(r.id, ())
                if why.w.holds(e, y) is True
            )
        unchanged = before == have != needed
        return (needed if unchanged else have) + (f" ({m})" if m else "")

    def ways_out(self, r: Rule, x: list) -> list[str]:
        """Single changes of facts it rests on, and the ways out that the packs name, tried by
        running the job again.
        """
        out = []
        slot = x[0].slot or x
        extra = [
            (slot[0].id, w.name, x[0].row)
            for w in self.k.words.kinds[x[0].kind].words.values()
            if x[0].plane and w.slot and w is self.k.rules[x[0].plane].tried
        ]
        before = self.have(r, x)
        for way in self.k.ways:
            if str(way.get("about")) != x[0].kind or (
                r.id not in [str(i) for i in way.get("for", [r.id])]
            ):
                continue
            changes = self.changes_of(slot, way["change"])
            if not changes or all(self._is(c) for c in changes):
                continue
            with self.other(changes + extra) as other:
                if other.w.answer(r, slot) in (PASSES, SET_ASIDE) and not self._fails(
                    other, slot, changes + extra
                ):
                    out.append(
                        f"{self.fill_size(str(way['way']), slot)}: "
                        + self.with_margin(other, r, slot, before)
                    )
        return out

    def fill_size(self, text: str, y: list) -> str:
        def one(m):
            return self.value_of(y, m[1]) or m[1]

        return re.sub(r"\{([^{}]+)\}", one, text)

    def _fails(self, other: Ways, slot: list, changes: list[tuple]) -> bool:
        """Does something of this thing fail by a way out, or something of its circuit that did not
        fail before?
        """
        if any(
            t.about == slot[0].kind
            and t.verb in ("must", "must not")
            and other.w.answer(t, slot) == FAILS
            for t in self.k.rules.values()
        ):
            return True
        return bool(self.worse(slot, changes))

    def _is(self, change) -> bool:
        t, f, v = change
        return self.w.things[t][word_of(self.w, t, f).slot] == v

    def changes_of(self, x: list, change: dict) -> list[tuple]:
        """A way's changes as (thing, fact, value): paths from the thing, a list meaning each of its
        members.
        """
        out = []
        for path, text in change.items():
            names = self.k.words.spell(
                x[0].kind, tuple(n.strip() for n in reversed(str(path).split(" of ")))
            )
            holders = [x]
            for n in names[:-1]:
                nxt = []
                for h in holders:
                    v = h[self.k.words.kinds[h[0].kind].words[n].slot]
                    nxt += (
                        [v] if isinstance(v, list) and v and hasattr(v[0], "kind") else members(v)
                    )
                holders = nxt
            for h in holders:
                w = self.k.words.kinds[h[0].kind].words[names[-1]]
                out.append(
                    (
                        h[0].id,
                        names[-1],
                        (
                            parse_quantity(str(text), w.unit)[0]
                            if w.unit
                            else (
                                {"yes": True, "no": False}.get(str(text), str(text))
                                if w.type[0] == "flag"
                                else str(text)
                            )
                        ),
                    )
                )
        return out

    def thresholds(self, r: Rule, x: list) -> list[str]:
        """Where the answer flips: a told number moved to the rows of the tables it is looked up in,
        or to the limit itself.
        """
        out = []
        before = self.have(r, x)
        for thing, fact, points in self.turning_points(r, x):
            word = word_of(self.w, thing, fact)
            unit = unit_shown(self.w.things[thing], fact, word.unit)
            told = self.w.things[thing][word.slot]
            for v in points:
                slot = x[0].slot or x
                extra = (
                    [(slot[0].id, self.k.rules[x[0].plane].tried.name, x[0].row)]
                    if x[0].plane
                    else []
                )
                with self.other([(thing, fact, v)] + extra) as other:
                    if other.w.answer(r, slot) not in (PASSES, SET_ASIDE) or self._fails(
                        other, slot, [(thing, fact, v)] + extra
                    ):
                        continue
                    margin = self.with_margin(other, r, slot, before)
                lower = v < told
                size = f"{show(x[0].row, None)} " if x[0].plane else ""
                at = show(v, unit)
                if unit == "°F":
                    degrees = in_unit(v, unit)
                    at = f"{number_text(degrees.__floor__() if lower else degrees)} °F"
                out.append(f"{size}at {fact} {at} or {'less' if lower else 'more'}: {margin}")
                break
        return out

    def turning_points(self, r: Rule, x: list) -> list[tuple]:
        """(thing, fact, values to try, nearest first) of told numbers that reach the answer through
        a table between rows.
        """
        out = []
        g = support(self.w, r, x)
        looked = {
            n for a, n, role in g.edges if role.startswith("by ") and g.nodes[a].kind == "step"
        }
        for node in looked:
            n = g.nodes[node]
            if (
                n.kind != "fact"
                or n.data["origin"] not in ("told", "assumed")
                or "@" in n.data["of"]
            ):
                continue
            thing, fact = n.data["of"], n.data["is"]
            word = word_of(self.w, thing, fact)
            v = self.w.things[thing][word.slot]
            if word.type[0] != "q" or not plain(v):
                continue
            points: set = set()
            for t in self.k.tables.values():
                for key, (how, unit) in t.keys.items():
                    if how != "exact" and key == fact and unit == word.unit:
                        points |= {row[key] for row in t.rows}
            out.append((thing, fact, sorted((p for p in points if p < v), reverse=True)))
        return out

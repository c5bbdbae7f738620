"""The steps of a line for the proof check: each recomputed from its pieces, with the edges that it needs."""

from __future__ import annotations

from collections import namedtuple
from fractions import Fraction as F
from itertools import product
from types import SimpleNamespace as Box

from .proof_lines import apply, both, either, fold, kids, opposite, parse, result_type, span
from .proof_reading import NONE, NOTHING, POINT, SOME, UNITS, Many, Table, dated, read, spelled

At = namedtuple("At", "rule x kind m mkind")   # where a line is: its rule, its thing and kind, the member looked at and its kind


def cell_of(rows: list, column: str, t: Table) -> tuple:
    """(value, type) of what the rows still possible agree on."""
    values, type_ = list(dict.fromkeys(r.get(column) for r in rows)), t.type_of(column)
    type_ = ("flag",) if column in t.flags and column not in t.how else type_
    if len(values) == 1 and values[0] is not None:
        return (values[0],) * 2 if type_[0] == "q" else values[0] == "yes" if type_[0] == "flag" else values[0], type_
    if type_[0] == "q" and len(values) > 1:
        return (None if type_[1] == POINT else SOME) if None in values else (min(values), max(values)), type_
    return None, type_


class Steps:
    """Judges the steps of lines; facts and rules are judged by the class that builds on it (proof.py)."""

    def must(self, node: str, so: bool, what: str) -> None:
        if not so:
            self.faults.append(f"{node}: {what}")

    def edge(self, a: str, b: str, role: str) -> None:
        self.want.setdefault(a, set()).add((b, role))
        self.must(a, b in self.nodes, f"it rests on {b}, which is not there")

    # ---- things, and tried rows of them: `circuits.kiln.conductors@6 AWG`
    def split(self, x: str) -> tuple:
        """(thing, size tried or None)."""
        return (x, None) if x in self.things.all else tuple(x.rsplit("@", 1))

    def kind(self, x: str) -> str:
        return self.things.all[self.split(x)[0]].kind

    def own(self, x: str, name: str) -> bool:
        """Is this fact settled anew where a row is tried?"""
        kind, givers = self.kind(x), self.givers(self.kind(x), name)
        return name == self.book.picks.get(kind) or bool(givers) and not any("tries" in d or "designs" in d for d in givers.values())

    def givers(self, kind: str, name: str) -> dict:
        return {g: self.book.rules[g] for g in self.book.givers.get((kind, name), ())}

    def same(self, node: str, text: str, unit: str, v, t: tuple, what: str = "value") -> None:
        """Is *text* the value *v*?"""
        ok = (UNITS[unit][1] == t[1] if t[0] == "q" else unit == "") and text == spelled(v, unit)
        self.must(node, ok, f"its {what} is not {text} {unit}")

    # ---- lines
    def operand(self, up: str, e: tuple, c: At, at: str, role: str) -> tuple:
        """(value, type) of a piece of a line, and the edge it needs."""
        if e[0] == "flag":
            v, _ = self.operand(up, e[1], c, at, role)
            return NOTHING if v == NONE else v, ("flag",)
        if e[0] == "lit":
            return e[1:]
        if e[0] == "path":
            name, steps = e[1][0], self.book.rules[c.rule].get("steps", {})
            if len(e[1]) == 1 and name in steps:
                e, c, at = parse(str(steps[name]), False), c._replace(m=None, mkind=None), f"steps.{name}"
            elif len(e[1]) == 1 and name in self.book.values and name not in self.words.kinds[c.kind]:
                self.edge(up, f"value:{name}", role)
                return dated(self.book.values[name], self.book.edition)
            else:
                return self.read(up, e[1], c, role)
        node = f"step:{c.rule}@{c.x}#{at}" + (f"[{c.m}]" if c.m else "")
        self.edge(up, node, role)
        if node not in self.memo:
            self.visited.add(node)
            self.memo[node] = self.step(node, e, c, at)
        return self.memo[node]

    def read(self, up: str, names: tuple, c: At, role: str, raw: bool = False) -> tuple:
        """A fact, by the links that lead to it."""
        o = c.m if c.m and names[0] == c.mkind else c.x
        names, kinds, t = self.follow(names, c)
        blank = SOME if t[0] == "q" and t[1] != POINT and not raw else None
        v = o
        for i, (name, k) in enumerate(zip(names, kinds)):
            w, thing = self.words.kinds[k][name], self.split(o)[0]
            node, last = f"fact:{o if o == thing or self.own(o, name) or w.comes == self.book.picks.get(k) else thing}/{name}", i == len(names) - 1
            v = self.claimed(node, w) if last and t[0] != "many" else self.things.all[thing].cell.get(name)
            linked = not w.part and name != "job" and v != self.things.all[thing].whole and not any(
                p.part and p.type[1] == k for p in self.words.kinds.get(w.type[1], {}).values()) if not last else True
            if linked or v is None or v == NONE:
                self.edge(up, node, role if last else "through")
            if not last and (v is None or v == NONE):
                return blank if v is None else NOTHING, t
            o = v
        return v if raw else blank if v is None else NOTHING if v == NONE and t[0] in ("row", "q") else v, t

    def claimed(self, node: str, w: Box):
        """The value a fact node claims."""
        text, unit = self.nodes[node]["value"], self.nodes[node]["unit"]
        if text == "unknown" or text == "none" and not (w.type[0] == "choice" and "none" in w.type[1]):
            return None if text == "unknown" else NONE
        return read(text, unit) if w.type[0] == "q" else text == "yes" if w.type[0] == "flag" else text

    def step(self, node: str, e: tuple, c: At, at: str) -> tuple:
        """An operation recomputed, and what its node says of it."""
        n, op, more = self.nodes[node], e[0], {}
        data = {"op": e[1] if op in ("bin", "over", "step", "round", "cmp", "quant") else "look-up" if op == "look" else "is" if op in ("path", "lit") else op, "line": at}
        if op in ("path", "lit"):
            v, t = self.operand(node, e, c, at + ".0", "is")
        elif op in ("over", "quant"):
            v, t, more = self.over(node, e, c, at)
        elif op == "look":
            v, t, more = self.look(node, e, c, at)
        elif op == "is" and "none" in e[3] and e[2][0] == "path":   # a told none is an answer, not a hole
            v, t = self.read(node, e[2][1], c, "1", raw=True)[0], ("flag",)
            v = v if v is None or v == NOTHING else (v == NONE or isinstance(v, Many) and not v.ids) != e[1]
        else:
            sides = [self.operand(node, k, c, f"{at}.{i}", str(i + 1)) for i, k in enumerate(kids(e))]
            v, t = apply(e, [v for v, _ in sides], [t for _, t in sides], self.book.table), result_type(e, [t for _, t in sides])
            if op == "root" and isinstance(v, tuple):
                v = self.enclosure(node, span(v), F(1, 10**e[2]))
            if op == "cmp":
                more = self.sides(node, n, e, sides)
        self.must(node, n["data"] == data | more, f"{n['data'].get('op')} does not follow from its parts")
        self.same(node, n["value"], "" if op == "cmp" else n["unit"], v, t)
        return v, t

    def follow(self, names: tuple, c: At) -> tuple:
        """(names written out, the kind each is a fact of, type of the last) of a path."""
        kind, names = (c.mkind, names[1:]) if names[0] == c.mkind else (c.kind, names)
        names, kinds, t = self.words.spell(kind, names), [], ("ref", kind)
        for name in names:
            kinds.append(t[1])
            t = self.words.kinds[t[1]][name].type
        return names, kinds, t

    def type(self, e: tuple, c: At) -> tuple:
        """The type of a line, whatever it is worth."""
        if e[0] == "lit":
            return e[2]
        if e[0] == "path":
            steps = self.book.rules[c.rule].get("steps", {}) if len(e[1]) == 1 else {}
            if e[1][0] in steps:
                return self.type(parse(str(steps[e[1][0]]), False), c._replace(mkind=None))
            dates = len(e[1]) == 1 and e[1][0] in self.book.values and e[1][0] not in self.words.kinds[c.kind]
            return dated(self.book.values[e[1][0]], self.book.edition)[1] if dates else self.follow(e[1], c)[2]
        if e[0] == "look":
            return cell_of([], e[1], self.book.table(e[2]))[1]
        if e[0] == "over":
            return self.type(e[2], c._replace(mkind=self.follow(e[3][1], c)[2][1])) if e[2] else ("q", ())
        return ("flag",) if e[0] == "quant" else result_type(e, [self.type(k, c) for k in kids(e)])

    def over(self, node: str, e: tuple, c: At, at: str) -> tuple:
        """A total, count, smallest, largest, or every, some, no: of each member of a list."""
        fn, (body, path, where, default) = e[1], e[2:] if e[0] == "over" else (None, e[2], e[3], None)
        col, (_, kind) = self.read(node, path[1], c, "over")
        gone, taken = isinstance(col, str), []
        for y in col.ids if isinstance(col, Many) else ():
            within, name = c._replace(m=y, mkind=kind), self.things.all[y].name
            counts = self.operand(node, where, within, f"{at}.where", f"{'counts ' + name if e[0] == 'over' else f'is {name} so'}")[0] if where else True
            if e[0] == "over" and (counts is False or counts == NOTHING):
                continue
            v = self.operand(node, body, within, f"{at}.each", f"of {name}")[0] if body else (F(1), F(1))
            if v != NOTHING:
                taken.append((y, counts, v))
        open_ = not gone and (col is None or col.open)
        if e[0] == "quant":
            vs = [ok for _, ok, _ in taken] + [None] * open_
            return NOTHING if col == NOTHING else both(vs) if fn == "every" else either(vs) if fn == "some" else opposite(either(vs)), ("flag",), {}
        given = self.operand(node, default, c, f"{at}.or", "or")[0] if default else None
        members = [{"of": y, "counts": "yes" if ok is True else "unknown", "adds": spelled(v, self.nodes[node]["unit"])} for y, ok, v in taken]
        return fold(fn, [(ok, v) for _, ok, v in taken], open_, given), self.type(e, c), {"members": members, "open": open_}

    def look(self, node: str, e: tuple, c: At, at: str) -> tuple:
        """A look-up, forwards by its keys or backwards by a condition on the columns."""
        _, column, name, keys, where = e
        t, known, held, blank = self.book.table(name), {}, {}, []
        for k, key in keys:
            v, kind = self.operand(node, key, c, f"{at}.{k}", f"by {k}")
            known[k] = None if v is SOME else v
            blank += [(k, kind)] if known[k] is None else []
        gone = any(isinstance(v, str) and v in (NONE, NOTHING) for v in known.values())
        rows, type_ = [] if gone else t.find(known), cell_of([], column, t)[1]
        if blank and not gone and {} not in rows:   # off the table, unless whatever the unknown keys may be has a row
            told = all(kind[0] == "choice" for _, kind in blank) and all(
                any(all(r[k] == v for (k, _), v in zip(blank, vs)) for r in rows) for vs in product(*(kind[1] for _, kind in blank)))
            rows = rows if told else [*rows, {}]
        if where is None:
            if len(rows) == 1 and rows[0]:
                self.edge(node, f"cell:{name}[{t.name(rows[0])}]/{column}", "reads")
            return NOTHING if gone else cell_of(rows, column, t)[0], type_, {} if len(rows) == 1 and rows[0] else {"rows possible": len(rows)}

        def reads_row(part) -> bool:
            return part[0] == "path" and len(part[1]) == 1 and part[1][0] in t.units or part[0] not in ("path", "lit", "over", "quant", "look") and any(map(reads_row, kids(part)))

        def hang(part, at) -> None:
            if not reads_row(part):
                held[at] = self.operand(node, part, c, at, "where")
            for i, k in enumerate(kids(part) if reads_row(part) and part[0] != "path" else ()):
                hang(k, f"{at}.{i}")

        def worth(part, at, row) -> tuple:
            if at in held or part[0] == "path":
                return held[at] if at in held else cell_of([row], part[1][0], t)
            pieces = [worth(k, f"{at}.{i}", row) for i, k in enumerate(kids(part))]
            vs, ts = [v for v, _ in pieces], [ty for _, ty in pieces]
            return (vs[0], ts[0]) if part[0] == "flag" else (apply(part, vs, ts, self.book.table), result_type(part, ts))

        hang(where, f"{at}.where")
        if gone or None in known.values():
            return NOTHING if gone else None, type_, {}
        for i, row in enumerate(rows):
            ok = worth(where, f"{at}.where", row)[0]
            if ok is not False:
                self.edge(node, f"cell:{name}[{t.name(row)}]/{column}", "reads")
                if i:
                    self.edge(node, f"cell:{name}[{t.name(rows[i - 1])}]/{column}", "next below fails")
                return cell_of([row], column, t)[0] if ok is True else ok, type_, {}
        return NONE if type_[0] == "row" else None, type_, {}

    def sides(self, node: str, n: dict, e: tuple, sides: list) -> dict:
        """What a comparison says of its two sides and its margin."""
        said, (a, t), (b, u) = n["data"], *sides
        more = {"compares": e[1], "left unit": said["left unit"], "right unit": said["right unit"], "left": said["left"], "right": said["right"]}
        self.same(node, said["left"], said["left unit"], a, t, "left side")
        self.same(node, said["right"], said["right unit"], b, u, "right side")
        if t[0] == "q" and None not in (*span(a), *span(b)) and a[0] == a[1] and b[0] == b[1]:
            self.must(node, n["unit"] == said["left unit"], "its margin is in another unit")
            return more | {"margin": spelled((abs(a[0] - b[0]) / UNITS[n["unit"]][0],) * 2, "count")}
        self.must(node, n["unit"] == "", "it has no margin")
        return more

    def enclosure(self, node: str, square: tuple, width: F):
        """The root a node claims, where it encloses the true one as closely as is asked."""
        if square[1] is not None and square[1] < 0:
            return None
        lo, hi = read(self.nodes[node]["value"], self.nodes[node]["unit"])
        low = max(square[0] or F(0), F(0))
        so = 0 <= lo and lo**2 <= low < (lo + width) ** 2 and (hi is None) == (square[1] is None) and (
            hi is None or hi >= 0 and hi**2 >= square[1] and (hi - width < 0 or (hi - width) ** 2 < square[1]))
        self.must(node, so, "it does not enclose the root")
        return lo, hi

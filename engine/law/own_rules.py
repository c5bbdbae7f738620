"""A rule that a pack writes: in the signs of the grammar, and seen through before it stands."""

from __future__ import annotations

from ..basics.errors import Fault, Place, suggest
from ..basics.reading import Items, Mapping, Text, place_of
from ..language.knowledge import Material
from ..language.rules import FILLING, MEANT
from ..language.words import as_list
from .edits import NEW_RULE, Edit, words
from .meanings import lines_of, listed, paths, strange_amounts


def as_rule(e: Edit) -> Mapping:
    d = Mapping()
    d.at = e.at
    d[Text("rule", e.at)] = Text(e.target, place_of(e.d[e.verb], e.at))
    for k, v in e.d.items():
        if k in NEW_RULE or k == "examples":
            d[k] = in_signs(v) if k in MEANT else v
    d[Text("local", e.at)] = Text(e.cite, e.at)
    d[Text("because", e.at)] = Text(str(e.d.get("reason", "")), e.at)
    if isinstance(d.get("examples"), list):
        d["examples"] = [
            x for x in d["examples"] if not (isinstance(x, dict) and ("rule" in x or "job" in x))
        ]
    return d


def in_signs(v):
    """Lines as a clerk writes them, in the signs of the grammar."""
    if isinstance(v, (dict, list)):
        out = (
            type(v)((k, in_signs(x)) for k, x in v.items())
            if isinstance(v, dict)
            else type(v)(in_signs(x) for x in v)
        )
        if hasattr(v, "__dict__"):
            out.__dict__.update(v.__dict__)
        return out
    return v if (plain := words(v)) == v else Text(plain, place_of(v))


def seen_through(m: Material, e: Edit, d: Mapping) -> None:
    """See that a rule a pack writes cannot do in silence what nobody would mean by it."""
    if e.pack.layer == "belief":
        return
    kind = m.words.kinds.get(str(d.get("about")))
    for verb in ("gives", "reckons"):
        for fact in d.get(verb) or () if isinstance(d.get(verb), dict) and kind else ():
            w = kind.words.get(str(fact))
            if w is not None and w.ask and str(e.d.get("counts as", "")) != "yes":
                raise Fault(
                    "counts-as",
                    place_of(fact, e.at),
                    f'{e.target} makes "{fact}" so without anyone looking, and it is what people'
                    f' are asked ("{w.ask}")',
                    "to demand it write must:; where it is meant to be so by this rule, add counts"
                    " as: yes",
                )
    if "refers" in d and not any(
        w.ask
        for t in lines_of(d)
        for path in paths(t)
        for n in path
        for k in m.words.kinds.values()
        if (w := k.words.get(n))
    ):
        raise Fault(
            "refers-for-ever",
            place_of(d["refers"], e.at),
            f"nobody can answer {e.target}: it names no fact that a person is asked, and would say"
            " cannot tell for ever",
            "add when: with the fact that settles it, as in when: not photo; or write must: and"
            " that fact",
        )
    laxer = [
        str(t)
        for t in as_list(d.get("exception to"))
        if str(t) in m.rules and any(v in m.rules[str(t)] for v in FILLING)
    ]
    if e.verb == "add" and laxer and any(v in d for v in FILLING):
        raise Fault(
            "exception-gives",
            place_of(d["exception to"], e.at),
            f"{e.target} gives another value than {laxer[0]}, and an exception is earned: where its"
            f" conditions are not told, the value of {laxer[0]} would stand",
            f"write instead of: {laxer[0]}; then nothing is concluded where they are not told",
        )
    says_its_lines(e, d.get("says", ""), lines_of(d))


def says_its_lines(e: Edit, says, lines: list) -> None:
    """See that the sentence a pack writes has the amounts of its lines."""
    if e.pack.layer != "belief" and (strange := strange_amounts(says, lines)):
        raise Fault(
            "says-other",
            place_of(says, e.at),
            f'the sentence has "{strange[0]}", and the lines have not: {" / ".join(lines)}',
            "write one amount in both",
        )


def in_the_place_of(m: Material, e: Edit, d: Mapping) -> str:
    """Take the place of other rules where the conditions of *d* are so, and let nothing follow
    where that is not told.
    """
    names = [str(t) for t in as_list(e.d.get("instead of"))]
    for t in names:
        at = place_of(e.d["instead of"], e.at)
        if t == e.target:
            raise Fault(
                "instead-of-itself",
                at,
                f"{t} cannot stand in its own place",
                "write instead of: and the rule that gives way to it, or leave it out",
            )
        if t not in m.rules:
            raise Fault(
                "no-such-rule",
                at,
                f'{e.target} stands in the place of "{t}", and there is no such rule',
                suggest(t, m.rules),
            )
        old = m.rules[t]
        if str(old.get("about")) != str(d.get("about")):
            raise Fault(
                "exception-kind",
                at,
                f"{e.target} is about {d.get('about')}, and {t} about {old.get('about')}",
                "a rule stands in the place of one about the same kind of thing",
            )
        if not d.get("when"):
            raise Fault(
                "edit-lacks",
                e.at,
                f'{e.target} stands in the place of {t}, and does not say "when:"',
                f"add when:; to do so everywhere, write replace: {t}",
            )
        if "manufacturer" in old:
            raise Fault(
                "maker-limit",
                at,
                f"{e.target} stands in the place of {t}, which is a manufacturer's limit",
                "an ordinance may be stricter than the manufacturer, never laxer",
            )
        after = Mapping(old)
        after.__dict__.update(old.__dict__)
        after["when"] = list_of(
            [*as_list(old.get("when")), _denied(as_list(d["when"]), place_of(d["when"], e.at))],
            e.at,
        )
        m.rules[t] = after
    return (
        f" in the place of {listed(names)}: where it is not told which holds, nothing is concluded"
        if names
        else ""
    )


def _denied(when: list, at: Place):
    """A condition that holds where not all of *when* do."""

    def no(c):
        if isinstance(c, dict):
            key, parts = next(iter(c.items()))
            return both(
                [no(p) for p in as_list(parts)], "all of" if str(key) == "any of" else "any of"
            )
        return Text(f"not {c}", place_of(c, at))

    def both(said: list, key: str):
        if len(said) == 1:
            return said[0]
        out = Mapping({Text(key, at): list_of(said, at)})
        out.at = at
        return out

    return both([no(c) for c in when], "any of")


def list_of(v: list, at: Place) -> Items:
    out = Items(v)
    out.at = at
    return out


__all__ = ["as_rule", "in_signs", "seen_through", "says_its_lines", "in_the_place_of", "list_of"]

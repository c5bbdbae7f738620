"""A rule that a pack writes: in the signs of the grammar, and seen through before it stands."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterable
from typing import Any

from ..basics.errors import Fault, Place, suggest
from ..basics.reading import Items, Mapping, Text, place_of
from ..language.knowledge import Material
from ..language.rules import FILLING, MEANT
from ..language.words import Words, as_list
from .edits import NEW_RULE, Edit, copy_of, words
from .meanings import lines_of, listed, paths, sentence, strange_amounts


def as_rule(edit: Edit) -> Mapping:
    """The rule that an `add` or a `replace` writes, as a file of rules would say it."""
    rule = Mapping()
    rule.at = edit.at
    rule[Text("rule", edit.at)] = Text(edit.target, place_of(edit.d[edit.verb], edit.at))
    for key, said in edit.d.items():
        if key in NEW_RULE or key == "examples":
            rule[key] = in_signs(said) if key in MEANT else said
    rule[Text("local", edit.at)] = Text(edit.cite, edit.at)
    rule[Text("because", edit.at)] = Text(str(edit.d.get("reason", "")), edit.at)
    if isinstance(rule.get("examples"), list):
        # those that name a rule or a job are about what the edit does elsewhere
        rule["examples"] = [
            example
            for example in rule["examples"]
            if not (isinstance(example, dict) and ("rule" in example or "job" in example))
        ]
    return rule


def in_signs(said: Any) -> Any:
    """Lines as a clerk writes them, in the signs of the grammar."""
    if isinstance(said, dict):
        if len(said) == 1 and (many := _SO_MANY.fullmatch(str(next(iter(said))))):
            return _so_many_of(said, int(many[1]))
        return _placed_as(said, type(said)((key, in_signs(x)) for key, x in said.items()))
    if isinstance(said, list):
        return _placed_as(said, type(said)(in_signs(x) for x in said))
    plain = words(said)
    return said if plain == said else Text(plain, place_of(said))


_SO_MANY = re.compile(r"at least (\d+) of")
MOST_WAYS = 70  # of so many of these: 4 of 8 have as many


def _so_many_of(said: Any, number: int) -> Any:
    """Conditions of which so many must be so, as the grammar has it: some of the ways in which that
    may be.

    Raises:
        Fault: there are not so many, or more ways than anybody reads.
    """
    key, parts = next(iter(said.items()))
    at, each = place_of(key), in_signs(as_list(parts))
    ways = [*itertools.combinations(each, number)] if 0 < number <= len(each) <= 12 else []
    if not ways or len(ways) > MOST_WAYS:
        raise Fault(
            "edit-form",
            at,
            f'"{key}" names {len(each)} conditions',
            "name more conditions than must be so, and twelve at most",
        )
    every = [junction(list(way), "all of", at) for way in ways]
    return junction(every, "any of", at)


def _placed_as(said: Any, out: Any) -> Any:
    """*out*, standing where *said* does."""
    if hasattr(said, "__dict__"):
        out.__dict__.update(said.__dict__)
    return out


def seen_through(material: Material, edit: Edit, rule: Mapping) -> None:
    """See that a rule a pack writes cannot do in silence what nobody would mean by it.

    Raises:
        Fault: it gives what people are asked, refers for ever, is an exception that gives another
            value, or its sentence has another amount than its lines.
    """
    # what somebody wrongly holds may do all of that
    if edit.pack.layer == "belief":
        return
    _see_asked_is_not_given(material, edit, rule)
    _see_refers_can_end(material, edit, rule)
    # only of a new rule: where one is replaced, it was an exception to the same before
    if edit.target not in material.rules:
        _see_exception_gives_nothing(material, edit, rule)
    says_its_lines(edit, rule.get("says", ""), lines_of(rule))


def _see_asked_is_not_given(material: Material, edit: Edit, rule: Mapping) -> None:
    """See that a rule does not answer a question to a person, unless the edit says that it may."""
    kind = material.words.kinds.get(str(rule.get("about")))
    if kind is None or str(edit.d.get("counts as", "")) == "yes":
        return
    given = [rule[verb] for verb in ("gives", "reckons") if isinstance(rule.get(verb), dict)]
    for fact in (fact for facts in given for fact in facts):
        word = kind.words.get(str(fact))
        if word is not None and word.ask:
            raise Fault(
                "counts-as",
                place_of(fact, edit.at),
                f'{edit.target} makes "{fact}" so without anyone looking, and it is what people'
                f' are asked ("{word.ask}")',
                "to demand it write must:; where it is meant to be so by this rule, add counts"
                " as: yes",
            )


def _see_refers_can_end(material: Material, edit: Edit, rule: Mapping) -> None:
    """See that a rule which refuses to conclude hangs on something a person can answer."""
    if "refers" not in rule:
        return
    read = {name for line in lines_of(rule) for path in paths(line) for name in path}
    if not _somebody_is_asked(material.words, read):
        raise Fault(
            "refers-for-ever",
            place_of(rule["refers"], edit.at),
            f"nobody can answer {edit.target}: it names no fact that a person is asked, and would"
            " say cannot tell for ever",
            "add when: with the fact that settles it, as in when: not photo; or write must: and"
            " that fact",
        )


def _somebody_is_asked(vocabulary: Words, names: Iterable[str]) -> bool:
    """Whether one of *names* is a fact, of whatever kind of thing, that a person is asked."""
    asked = {w.name for kind in vocabulary.kinds.values() for w in kind.words.values() if w.ask}
    return not asked.isdisjoint(names)


def _see_exception_gives_nothing(material: Material, edit: Edit, rule: Mapping) -> None:
    """See that no exception gives another value than the rule it sets aside."""
    laxer = [
        name
        for name in map(str, as_list(rule.get("exception to")))
        if name in material.rules and any(verb in material.rules[name] for verb in FILLING)
    ]
    if laxer and any(verb in rule for verb in FILLING):
        raise Fault(
            "exception-gives",
            place_of(rule["exception to"], edit.at),
            f"{edit.target} gives another value than {laxer[0]}, and an exception is earned: where"
            f" its conditions are not told, the value of {laxer[0]} would stand",
            f"write instead of: {laxer[0]}; then nothing is concluded where they are not told",
        )


def says_its_lines(edit: Edit, says: object, lines: list[str]) -> None:
    """See that the sentence a pack writes has the amounts of its lines.

    Raises:
        Fault: it has another.
    """
    # a wrong sentence may go with a wrong belief
    if edit.pack.layer == "belief":
        return
    strange = strange_amounts(says, lines)
    if strange:
        raise Fault(
            "says-other",
            place_of(says, edit.at),
            f'the sentence has "{strange[0]}", and the lines have not: {" / ".join(lines)}',
            "write one amount in both",
        )


def in_the_place_of(material: Material, edit: Edit, rule: Mapping) -> str:
    """Take the place of other rules where the conditions of *rule* are so, and let nothing follow
    where that is not told.

    Raises:
        Fault: it cannot stand in the place of one of them.
    """
    names = [str(name) for name in as_list(edit.d.get("instead of"))]
    places = []
    for name in names:
        _see_can_give_way(material, edit, rule, name)
        old = material.rules[name]
        places.append(sentence(old))
        after = copy_of(old)
        not_so = denied(as_list(rule["when"]), place_of(rule["when"], edit.at))
        after["when"] = list_of([*as_list(old.get("when")), not_so], edit.at)
        material.rules[name] = after
    if not names:
        return ""
    return (
        f" There it stands in the place of {listed(places)}: where it is not told which holds,"
        " nothing is concluded."
    )


def _see_can_give_way(material: Material, edit: Edit, rule: Mapping, name: str) -> None:
    """See that the rule called *name* can give way to *rule*."""
    at = place_of(edit.d["instead of"], edit.at)
    if name == edit.target:
        raise Fault(
            "instead-of-itself",
            at,
            f"{name} cannot stand in its own place",
            "write instead of: and the rule that gives way to it, or leave it out",
        )
    if name not in material.rules:
        raise Fault(
            "no-such-rule",
            at,
            f'{edit.target} stands in the place of "{name}", and there is no such rule',
            suggest(name, material.rules),
        )
    old = material.rules[name]
    if str(old.get("about")) != str(rule.get("about")):
        raise Fault(
            "exception-kind",
            at,
            f"{edit.target} is about {rule.get('about')}, and {name} about {old.get('about')}",
            "a rule stands in the place of one about the same kind of thing",
        )
    if not rule.get("when"):
        raise Fault(
            "edit-lacks",
            edit.at,
            f'{edit.target} stands in the place of {name}, and does not say "when:"',
            f"add when:; to do so everywhere, write replace: {name}",
        )
    if "manufacturer" in old:
        raise Fault(
            "maker-limit",
            at,
            f"{edit.target} stands in the place of {name}, which is a manufacturer's limit",
            "an ordinance may be stricter than the manufacturer, never laxer",
        )


def denied(when: list, at: Place) -> Mapping | Text:
    """A condition that holds where not all of *when* do."""
    return junction([_not_so(condition, at) for condition in when], "any of", at)


def _not_so(condition: Any, at: Place) -> Mapping | Text:
    """A condition that holds where *condition* does not: of a junction each part, and the other
    word.
    """
    if isinstance(condition, dict):
        key, parts = next(iter(condition.items()))
        other = "all of" if str(key) == "any of" else "any of"
        return junction([_not_so(part, at) for part in as_list(parts)], other, at)
    return Text(f"not {condition}", place_of(condition, at))


def junction(said: list[Any], key: str, at: Place) -> Mapping | Text:
    """Several conditions as one."""
    if len(said) == 1:
        return said[0]
    out = Mapping({Text(key, at): list_of(said, at)})
    out.at = at
    return out


def list_of(said: list, at: Place) -> Items:
    """A list of our own making that stands *at* a place."""
    out = Items(said)
    out.at = at
    return out


__all__ = [
    "as_rule",
    "denied",
    "in_signs",
    "seen_through",
    "says_its_lines",
    "in_the_place_of",
    "list_of",
    "junction",
]

"""Sentences that an edit leaves behind: no rule goes on saying an amount that is gone."""

from __future__ import annotations

from collections.abc import Callable
from typing import NoReturn

from ..basics.errors import Fault, suggest
from ..basics.reading import Mapping, place_of
from ..language.knowledge import Material
from ..language.rules import plain_text
from .edits import Edit, copy_of
from .meanings import Amount, amounts, lines_of

# sentences of a rule, beside what it says, that may have a number of its lines in them
REASONS = (
    "because",
    "limits",
)


def renew_sentences(
    material: Material, edit: Edit, gone: dict[str, set[tuple]], come: set[tuple]
) -> None:
    """See that no rule goes on saying what is *gone*, for each that reads what was changed: it
    needs a new sentence, with what has *come*.
    """
    # what somebody wrongly holds changes no sentence
    if edit.pack.layer == "belief":
        return
    for key in ("says", *REASONS):
        stale = {}
        for name, old in gone.items():
            hit = [a.text for a in amounts(material.rules[name].get(key, "")) if a.compared in old]
            if hit:
                stale[name] = hit
        given = edit.d.get(key, {})
        if not isinstance(given, dict):
            # one sentence is for the one rule that needs one
            given = {name: given for name in stale} if len(stale) == 1 else {}
        # what holds for some only was said of another rule of the same name
        there = edit.done.get("there", {})
        given = {there.get(str(name), name): text for name, text in given.items()}
        for name in given:
            _renew_sentence(material, edit, key, name, given[name], gone, come)
        missed = [name for name in stale if name not in map(str, given)]
        if missed:
            _still_says(material, edit, key, missed, stale[missed[0]][0])


def _renew_sentence(
    material: Material,
    edit: Edit,
    key: str,
    name: str,
    text: object,
    gone: dict[str, set[tuple]],
    come: set[tuple],
) -> None:
    """Give a rule the new sentence *text*."""
    if str(name) not in gone:
        raise Fault(
            "no-such-rule",
            place_of(name, edit.at),
            f'no rule "{name}" reads {edit.target}',
            suggest(str(name), gone),
        )
    rule, old = material.rules[str(name)], gone[str(name)]
    _see_has_come(edit, rule, key, text, old, come)
    after = copy_of(rule)
    after[key] = text
    without_stale_answers(after, lambda said: any(a.compared in old for a in amounts(said)))
    material.rules[str(name)] = after


def _still_says(
    material: Material, edit: Edit, key: str, missed: list[str], amount: str
) -> NoReturn:
    """Say that the first of *missed* goes on saying an *amount* that is gone."""
    called = {twin: name for name, twin in edit.done.get("there", {}).items()}
    first = missed[0]
    what = f"the sentence of {first}" if key == "says" else f'"{key}" of {first}'
    wanted = ", ".join(
        f"{called.get(name, name)}: the sentence as it shall read" for name in missed
    )
    raise Fault(
        "says-old",
        edit.at,
        f'{what} has "{amount}" in it: “{material.rules[first][key]}”',
        f"add {key}: {{{wanted}}}",
    )


def _see_has_come(
    edit: Edit, rule: Mapping, key: str, text: object, gone: set[tuple], come: set[tuple]
) -> None:
    """See that a new sentence of a rule has the amount that came: neither the one that is gone, nor
    one that stands nowhere.
    """
    may_say = come | (amounts_in([*lines_of(rule), rule.get(key, "")]) - gone)
    measured = {measure for measure, _ in come}

    def is_strange(amount: Amount) -> bool:
        if amount.compared in gone:
            return True
        return key == "says" and amount.measure in measured and amount.compared not in may_say

    strange = next((a.text for a in amounts(text) if is_strange(a)), None)
    if strange is None:
        return
    came = next((f" {k}: {edit.d[k]}" for k in ("to", "as in", "insert") if k in edit.d), "")
    what = "the sentence" if key == "says" else f'"{key}"'
    raise Fault(
        "says-other",
        place_of(text, edit.at),
        f'{what} of {rule["rule"]} has "{strange}", and the edit has not:{came or " " + edit.name}',
        "write one amount in both",
    )


def amounts_in(lines: list[str]) -> set[tuple]:
    """The amounts of several lines, as they are compared."""
    return {a.compared for line in lines for a in amounts(line)}


def without_stale_answers(after: Mapping, stale: Callable[[str], object]) -> None:
    """Take the short answers from a rule whose old figures they print."""
    if "answers" in after and stale(str(plain_text(after["answers"]))):
        del after["answers"]

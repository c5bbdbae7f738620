"""A verb of an edit: what it may name, which keys it takes and needs, how it is read, carried out
and said back. Each verb is a class of its own in a file of its own; here is what they share.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...basics.errors import Collector, Fault, suggest
from ...basics.forms import YES_NO
from ...basics.limits import EXAMPLES
from ...basics.reading import Mapping, place_of
from ...basics.units import day
from ...language.knowledge import Material
from ..edits import COMMON, Edit, other_way, read_window
from ..forms import EDIT, ONE_LINE
from ..meanings import lines_of
from ..own_rules import says_its_lines

if TYPE_CHECKING:
    from ..edits import Holder


class Verb:
    """One verb of an edit. What stands here is so of most verbs; a verb says what is so of it."""

    name = ""
    third = ""  # she withdraws
    past = ""  # it is withdrawn
    about = ""  # what it does, for who writes one
    takes: tuple[str, ...] = ()  # its keys, beside those of every edit
    ways: tuple[tuple[str, ...], ...] = ()  # keys without which it does nothing, one set of these
    one_way_alone = False  # whether one set of keys keeps the others out
    form = ""  # what to write where nothing that it does is written
    also_written: tuple[str, ...] = ()  # what a clerk may write for it
    targets: tuple[str, ...] = ("rule",)  # what it is carried out on
    may_name: tuple[str, ...] = ()  # what it may name, where that is more
    makes_anew = False  # whether it names nothing that stands
    writes_a_rule = False  # whether its keys are those of a rule
    whole = False  # whether it is about a whole rule, so that no other edit goes with it
    once = False  # whether two of it on one thing part
    moves_the_meaning = True  # whether one that leaves its target's meaning does nothing
    leaves_nothing_idle = False  # whether one without effect in an edition leaves no trace there
    wakes = False  # whether what is not in force in an edition is what it is for
    cites_only = False  # whether what is required stays as it is
    moves_lines = False  # whether it may make untrue the examples of the rule that it names
    moves_readers = False  # the same of the rules that read the value or the table that it names
    gives_days = False  # whether its `to` is days
    needs_one_alone = True  # whether its examples show a case that it leaves alone
    changes_nothing = False  # whether it is only for edits of other packs
    asks_more = False  # whether what does not tell a new condition can tell no longer

    @property
    def keys(self) -> tuple[str, ...]:
        """Every key that an edit of this verb takes."""
        return self.name, *COMMON, *self.takes

    # ---- read

    def read(self, d: Mapping, pack: Holder, number: int, faults: Collector) -> Edit:
        """One edit from its YAML; what is amiss but leaves something to carry out is noted in
        *faults*.

        Raises:
            Fault: nothing could be carried out.
        """
        before = len(faults.items)
        # days first: what is wrong with them is told whatever else is wrong, and holds up nothing
        days = read_window(d, faults)
        edit = Edit(pack, number, self.name, str(d[self.name]), d, place_of(d), *days)
        edit.cite = _cited(d, pack)
        if "corrected" in d:
            with faults.catching():
                day(str(d["corrected"]), place_of(d["corrected"]))
        self._see_keys(edit, faults)
        _see_grounds(edit, faults)
        self._see_yes_or_no(edit, faults)
        # from here on a fault is raised: what the edit does could not be made out, and a guess
        # would be carried out
        self._see_it_changes_something(edit)
        self.see_form(edit)
        self.read_own(edit, faults)
        _see_examples_few(edit, faults)
        # beliefs stand for packs here, and have no days that could be faulty
        edit.sound = len(faults.items) == before and getattr(pack, "dated", True)
        return edit

    def read_own(self, edit: Edit, faults: Collector) -> None:
        """Take from an edit what only this verb has."""

    def _see_keys(self, edit: Edit, faults: Collector) -> None:
        """Note the keys that the verb does not take, with what may have been meant."""
        for key in edit.d:
            if key not in self.keys:
                faults.add(
                    "edit-key",
                    place_of(key),
                    f'{self.name} takes no "{key}"',
                    other_way(str(key), edit.d[key], self.elsewhere(edit.target))
                    or suggest(str(key), self.keys),
                )

    def elsewhere(self, target: str) -> str:
        """How to say that something holds only where something is so."""
        return ANYWHERE

    def _see_yes_or_no(self, edit: Edit, faults: Collector) -> None:
        """Note what is neither yes nor no where one of the two is meant."""
        for key, form in EDIT.items():
            is_asked = form.takes == YES_NO and key in self.keys
            if is_asked and str(edit.d.get(key, "no")) not in ("yes", "no"):
                at = place_of(edit.d[key], edit.at)
                faults.add("edit-form", at, f'"{key}" is yes or no', form.todo)

    def _see_it_changes_something(self, edit: Edit) -> None:
        """Raise a fault where the verb stands alone, or without the one key that it lives on."""
        says_what = not self.form or any(key in edit.d for key in self.takes)
        # where there are several ways the verb itself says which are missing, when it is carried
        # out
        needed = self.ways[0][0] if len(self.ways) == 1 else self.name
        if not says_what or needed not in edit.d:
            raise Fault(
                "edit-form",
                edit.at,
                f"{self.name} {edit.target} does not say what changes",
                self.form,
            )

    def see_form(self, edit: Edit) -> None:
        """See that a list or a mapping does not stand for one line.

        Raises:
            Fault: it does.
        """
        for key in ONE_LINE:
            if key in self.keys and not isinstance(edit.d.get(key, ""), str):
                raise Fault(
                    "edit-form",
                    place_of(edit.d[key], edit.at),
                    f'"{key}" of {self.name} {edit.target} is one line',
                    f"write {key}: and one line; two edits begin with a dash each",
                )

    # ---- carried out

    def carry_out(self, material: Material, edit: Edit, kind: str) -> None:
        """Carry *edit* out on its target, which is a rule, a value or a table: that is its *kind*.

        What it did is noted in `edit.done`: what stood before and stands after, the direction, a
        short word of it and a sentence.

        Raises:
            Fault: it cannot be done to what stands there.
        """
        raise NotImplementedError(self.name)

    def moves_an_edit(self, edit: Edit) -> bool:
        """Whether *edit* gives another edit other days, rather than change a rule."""
        return False

    def moved(self, edit: Edit, edits: list[Edit], faults: Collector) -> tuple[Edit, Edit] | None:
        """The edit that *edit* moves, and what becomes of it; None, with a fault noted, where
        there is none to move.
        """
        return None

    def instead(self, kind: str) -> str:
        """What to write where something of this *kind* is not edited so; "" where what such a
        thing takes says enough.
        """
        return ""

    # ---- said back

    def what_of(self, edit: Edit) -> str:
        """What *edit* is about, and what it does there where that is more than its verb."""
        short = str(edit.done.get("short", ""))
        if not short or short.startswith(edit.target):
            return short or edit.target
        return f"{edit.target}: {short}"

    def went_and_came(self, edit: Edit, material: Material) -> tuple[str, str]:
        """The words that *edit* struck, and those it put there; "" where there are none."""
        return "", ""


# What has a line of its own for a condition, whichever the verb.
ANYWHERE = "write only when: in a narrow, or when: in a rule that is added"


def _cited(d: Mapping, pack: Holder) -> str:
    """The ordinance of an edit and its section.

    "§4" is of the pack's ordinance, "Ordinance 9 §1" of another.
    """
    whole, own = str(pack.head.get("cite", "")), str(d.get("cite", ""))
    return own if not whole or own.split()[:1] == whole.split()[:1] else f"{whole} {own}"


def _see_grounds(edit: Edit, faults: Collector) -> None:
    """Note what is missing of who says so, and why."""
    for need, todo in (
        ("cite", "add cite: and the section of the ordinance"),
        ("reason", "add reason: and one sentence"),
    ):
        said = edit.d.get(need, "")
        if isinstance(said, str) and not said.strip():
            faults.add(
                "edit-lacks",
                edit.at,
                f'{edit.verb} {edit.target} does not say "{need}:"',
                todo,
            )
    if not edit.pack.layer:
        faults.add(
            "edit-without-law",
            edit.at,
            f'pack "{edit.pack.name}" edits {edit.target}, and does not say whose law it is',
            "add layer:, authority: and cite: to the head of the pack",
        )


def _see_examples_few(edit: Edit, faults: Collector) -> None:
    """Note that an edit has more examples than are read."""
    examples = edit.d.get("examples")
    if isinstance(examples, list) and len(examples) > EXAMPLES:
        faults.add(
            "edit-form",
            place_of(examples, edit.at),
            f"{edit.verb} {edit.target} has {len(examples):,} examples, and {EXAMPLES} are read",
            "keep those that show most",
        )


def put_answers(edit: Edit, after: Mapping) -> None:
    """Put in the short sentences that an edit gives with its text, or take them away with it.

    Raises:
        Fault: what is given for them is neither sentences nor none.
    """
    if "answers" not in edit.d:
        return
    said = edit.d["answers"]
    if isinstance(said, dict):
        after["answers"] = said
    elif str(said) == "none":
        after.pop("answers", None)
    else:
        raise Fault(
            "edit-form",
            place_of(said, edit.at),
            '"answers" is the short sentences, or none',
            "write answers: none, or answers: {holds: the sentence, fails: the sentence}",
        )


def put_given_sentence(edit: Edit, after: Mapping) -> None:
    """Put in the sentence that an edit gives, if it gives one; it has the amounts of the lines."""
    if "says" in edit.d:
        after["says"] = edit.d["says"]
        says_its_lines(edit, edit.d["says"], lines_of(after))

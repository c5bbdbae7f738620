"""Every verb of an edit by its name, in the order in which they are told to a person."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...basics.errors import Collector, Fault
from ...basics.reading import Mapping, place_of
from ..edits import Edit
from .add import Add
from .adopt import Adopt
from .alias import Alias
from .amend import Amend
from .lock import Lock
from .narrow import Narrow
from .redate import Redate
from .replace import Replace
from .set_value import SetValue
from .take import Take
from .verb import Verb
from .widen import Widen
from .withdraw import Withdraw

if TYPE_CHECKING:
    from ..edits import Holder

# one object of each: a verb has no state, and what it is asked about is handed in
EVERY: tuple[Verb, ...] = (
    Add(),
    Withdraw(),
    Replace(),
    Amend(),
    SetValue(),
    Redate(),
    Alias(),
    Narrow(),
    Widen(),
    Adopt(),
    Take(),
    Lock(),
)
VERBS: dict[str, Verb] = {verb.name: verb for verb in EVERY}
# What a clerk may write for a verb, and which one it is.
OTHER_VERBS = {word: verb.name for verb in EVERY for word in verb.also_written}


def verb_of(edit: Edit) -> Verb:
    """The verb of an edit, with all that it knows."""
    return VERBS[edit.verb]


def read_edit(d: Mapping, pack: Holder, number: int, faults: Collector) -> Edit:
    """One edit from its YAML; its keys closed, its dates real. What it does is seen when it is
    applied, and what is amiss but leaves something to carry out is noted in *faults*.

    Raises:
        Fault: nothing could be carried out.
    """
    return _verb_written(d).read(d, pack, number, faults)


def _verb_written(d: Mapping) -> Verb:
    """The one verb of an edit, which names one target."""
    verbs = [verb for verb in VERBS if verb in d]
    if len(verbs) != 1:
        raise Fault(
            "edit-verb",
            place_of(d),
            "one edit has two verbs: " + " and ".join(f'"{verb}"' for verb in verbs),
            "begin each with a dash of its own",
        )
    verb = verbs[0]
    if not isinstance(d[verb], str) or not d[verb]:
        raise Fault(
            "edit-form",
            place_of(d[verb], place_of(d)),
            f'"{verb}" names one rule, value or table',
            f"write {verb}: and its name",
        )
    return VERBS[verb]

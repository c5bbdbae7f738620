"""What the questions lack: beliefs that none of them asks, and rooms in which none is about a test,
a safe habit or a plate.
"""

from __future__ import annotations

from collections.abc import Iterable

from ..language.knowledge import Knowledge
from ..language.words import as_list
from .asked import Model
from .beliefs import Belief, read_beliefs
from .instances import Maker
from .kinds.registry import kind_asked
from .models import PRACTISES, read_models


def lacking(knowledge: Knowledge) -> list[str]:
    """A line for each belief that no question asks, and each room where nothing is practised.

    Raises:
        Faults: the beliefs or the questions are not in their form.
    """
    beliefs, models = read_beliefs(), read_models(knowledge)
    return [*_not_asked(knowledge, beliefs, models.values()), *_not_practised(models.values())]


def _not_asked(
    knowledge: Knowledge, beliefs: dict[str, Belief], models: Iterable[Model]
) -> list[str]:
    maker = Maker(knowledge, beliefs)
    # an order has no options, of a section nobody believes anything, and of another law only those
    # are asked who ask for another law
    asked = {
        name for model in models if kind_asked(model).believed for name in maker.relevant(model)
    }
    return [
        f'no question asks the belief "{name}" (room {belief.room})'
        for name, belief in beliefs.items()
        if name not in asked
    ]


def _not_practised(models: Iterable[Model]) -> list[str]:
    rooms = {room: False for model in models for room in sorted(model.rooms)}
    for model in models:
        if as_list(model.d.get("practises")):
            rooms.update(dict.fromkeys(model.rooms, True))
    what = f"{', '.join(PRACTISES[:-1])} or {PRACTISES[-1]}"
    return [
        f"no question of the room {room} is about {what}"
        for room in sorted(rooms)
        if not rooms[room]
    ]


__all__ = ["lacking"]

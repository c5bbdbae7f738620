"""What every page front calls: the fields that a form sent, in; the inside of the page, out."""

from __future__ import annotations

from collections.abc import Callable

from ...engine.asking.survey import Survey
from ...engine.basics.errors import Faults
from .screen import Fields, Saved, head_again, head_form, head_in, screen

Begun = Callable[[dict[str, str]], Survey]  # the survey without answers, under the law of a head


class Front:
    """The survey as a page: *begun* finds the law of a job's head among *places* and *editions*."""

    def __init__(self, begun: Begun, places: list[str], editions: list[str]) -> None:
        self.begun, self.places, self.editions = begun, places, editions

    def inside(
        self, fields: Fields, today: str, kept: Fields = (), saved: Saved | None = None
    ) -> str:
        """The inside of the page that answers *fields*; *today* is offered as the permit's date."""
        head = head_in(fields)
        if not head:
            return head_form(self.places, self.editions, today, kept)
        if head.get("place") and head.get("edition"):
            del head["edition"]  # a town says its own
        try:
            begun = self.begun(head)
        except Faults as faults:
            said = " ".join(f"{fault.what}: {fault.todo}." for fault in faults.items)
            return head_again(said, self.places, self.editions, today, kept)
        return screen(begun, fields, kept, saved)

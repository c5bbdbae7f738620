"""What every page front calls: the fields that a form sent, in; the inside of the page, out."""

from __future__ import annotations

from collections.abc import Callable

from ...engine.front import Faults, Survey
from .screen import Fields, Saved, head_again, head_form, head_in, screen

Begun = Callable[[dict[str, str]], Survey]  # the survey without answers, under the law of a head
Age = Callable[[str], str]  # today -> what is to be said of the age of the law


class Front:
    """The survey as a page: *begun* finds the law of a job's head among *places* and *editions*;
    *age* says of which day the law is, where a page is kept.
    """

    def __init__(
        self, begun: Begun, places: list[str], editions: list[str], age: Age | None = None
    ) -> None:
        self.begun, self.places, self.editions = begun, places, editions
        self.age = age or (lambda today: "")

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
        return screen(begun, fields, kept, saved, self.age(today))

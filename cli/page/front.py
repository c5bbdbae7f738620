"""What every page front calls: the fields that a form sent, in; the inside of the page, out."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from ...engine.front import Faults, Survey
from . import begun as begun_files
from .begun import Begun, Several
from .screen import (
    A_NEW_ONE,
    ANSWER,
    APART,
    CIRCUIT,
    FILE,
    HEAD,
    KEPT,
    Around,
    Fields,
    Heads,
    Last,
    Saved,
    head_form,
    head_in,
    screen,
    which_circuit,
)

if TYPE_CHECKING:
    from ...engine.front import Opened

Age = Callable[[str], str]  # today -> what is to be said of the age of the law


class Front:
    """The survey as a page: *begun* finds the law of a job's head among *places* and *editions*;
    *work* opens a job for its work; *age* says of which day the law is, where a page is kept;
    *look* is the one of every page, for what is taken as a file. It *remembers* the survey that it
    showed last where it is one person's own; a server keeps no job.
    """

    def __init__(
        self,
        begun: Begun,
        work: Callable[[Survey], Opened],
        places: list[str],
        editions: list[str],
        look: str = "",
        age: Age | None = None,
        remembers: bool = False,
    ) -> None:
        self.last = Last() if remembers else None
        self.begun, self.work, self.look = begun, work, look
        self.places, self.editions = places, editions
        self.age = age or (lambda today: "")

    def inside(
        self, fields: Fields, today: str, kept: Fields = (), saved: Saved | None = None
    ) -> str:
        """The inside of the page that answers *fields*; *today* is offered as the permit's date."""
        sent, age = dict(fields), self.age(today)
        heads = Heads(self.places, self.editions, today, age)
        head = head_in(fields)
        if head.get("place") and head.get("edition"):
            del head["edition"]  # a town says its own
        try:
            if FILE in sent:
                fields = self._opened(sent)
                sent, head = dict(fields), head_in(fields)
            if KEPT in sent:
                begun = begun_files.from_kept(sent[KEPT], head, self.begun)
            elif head:
                begun = self.begun({**head})
            else:
                return head_form(heads, kept)
        except Several as several:
            return which_circuit(several.names, sent[FILE], kept)
        except Faults as faults:
            said = " ".join(f"{fault.what}: {fault.todo}." for fault in faults.items)
            return head_form(heads, kept, said)
        return screen(
            begun, fields, Around(self.work, kept, saved, age, self.look, today, self.last)
        )

    def _opened(self, sent: dict[str, str]) -> Fields:
        """The fields that a page of the job whose file was sent keeps.

        Raises:
            Several: nothing says which of its circuits is meant.
            Faults: it is no job, or one that this page cannot go on with.
        """
        circuit = sent.get(CIRCUIT, "")
        survey = begun_files.opened(sent[FILE], circuit, circuit == A_NEW_ONE, self.begun)
        assert survey.begun_as is not None, "it was begun as a file"
        rest = survey.begun_as.rest
        return [
            (KEPT, begun_files.kept(survey)),
            *((key, str(rest[key])) for key in HEAD if isinstance(rest.get(key), str)),
            *((ANSWER, f"{answer.card}{APART}{answer.said}") for answer in survey.answers),
        ]

"""Values that stand for what is not there: each with what it means and who may return it.

None        not known: nobody told it and no rule gives it.
            Any cell and any evaluation; a verdict in three answers.
NONE        told or found to be absent: a part that is not there, a size that no row satisfies.
            A cell, the reader of jobs, a pick. Never a comparison.
NOTHING     what lies beyond a NONE: there is nothing to compare. A test on it is not met, a
            requirement does not apply, a total skips it.
            An evaluation. Never a cell.
SOME        a quantity of which only its sign is known, 0 or more (in `units`, for it is a range).
            An evaluation of an unknown quantity. Never a cell.
OFF         what lies off a table: there is no row, and so no cell to read (in `tables`, beside
            `Row`). Among the rows of a look-up, which may be there or not. Never a cell.
False       a test that is not met, a yes-or-no fact that is no.
            Tests and flags; a condition of a rule.
"""

from __future__ import annotations

from typing import Final, NoReturn


class NothingThere:
    """The class of NOTHING: what is beyond a told ``none``."""

    __slots__ = ()

    def __bool__(self) -> bool:
        return False

    def __repr__(self) -> str:
        return "NOTHING"

    def __reduce__(self) -> str:
        # knowledge that was kept between starts has the one that is here
        return "NOTHING"


class NoneThere:
    """The class of NONE: a part that was told to be absent, or a size that no row satisfies."""

    __slots__ = ()

    def __getitem__(self, slot: object) -> NoReturn:
        raise TypeError("nothing lies beyond none")

    def __repr__(self) -> str:
        return "NONE"

    def __reduce__(self) -> str:
        return "NONE"


NOTHING: Final = NothingThere()
NONE: Final = NoneThere()

"""Typed pieces of a line, and what each is worth on a thing: the general evaluator.

Every piece answers ``ev(thing, member)``: *thing* is what the rule is about (a list of cells),
*member* the member of a list, or the row of a table, that is being looked at. Answers are exact: a
number, a word, yes or no, a list of things; unknown is None, what is partly known a Range, what
lies beyond a told `none` NOTHING.

The pieces stand in `pieces`, by what they are about; here they have one name each.
"""

from .pieces.amounts import (
    Arith,
    Column,
    Dated,
    Extreme,
    Local,
    Num,
    Path,
    Root,
    Round,
    Word_,
    Year,
    apply_op,
    extreme,
    paths,
)
from .pieces.conditions import NOT_MET, Cmp, Cond, Flag, Gauge, Is, Junction, Not, is_unmet
from .pieces.lists import Over, Quant, fold
from .pieces.piece import (
    FLAG,
    Cell,
    Expr,
    Literal,
    Member,
    Stands,
    Truth,
    Value,
    as_word,
    is_open,
    walk,
)
from .pieces.tables import Among, Look, Step, cell_of

__all__ = [
    "Among",
    "Arith",
    "Cell",
    "Cmp",
    "Column",
    "Cond",
    "Dated",
    "Expr",
    "Extreme",
    "FLAG",
    "Flag",
    "Gauge",
    "Is",
    "Junction",
    "Literal",
    "Local",
    "Look",
    "Member",
    "NOT_MET",
    "Not",
    "Num",
    "Over",
    "Path",
    "Quant",
    "Root",
    "Round",
    "Stands",
    "Step",
    "Truth",
    "Value",
    "Word_",
    "Year",
    "apply_op",
    "as_word",
    "cell_of",
    "extreme",
    "fold",
    "is_open",
    "is_unmet",
    "paths",
    "walk",
]

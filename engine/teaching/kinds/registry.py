"""Every kind of question by its name, in the order in which they are told to a person."""

from __future__ import annotations

from ..asked import Model
from .asks import Asks
from .cites import Cites
from .findings import Findings
from .governs import Governs
from .judges import Judges
from .kind import Kind
from .mends import Mends
from .missing import Missing
from .order import InOrder
from .under import Under

EVERY: tuple[Kind, ...] = (
    Asks(),
    Judges(),
    Governs(),
    Findings(),
    Missing(),
    Under(),
    Mends(),
    InOrder(),
    Cites(),
)
# what is asked: exactly one, or `under` with one that may be asked of another law
KINDS: dict[str, Kind] = {kind.name: kind for kind in EVERY}


def kind_asked(model: Model) -> Kind:
    """The kind of a question, with all that it knows."""
    return KINDS[model.kind]

"""What the knowledge says of the words of questions and of the rows of answer sheets:
kb/teaching/stems.yaml.
"""

from __future__ import annotations

from functools import cache
from typing import Any

from ..basics.reading import read_yaml
from ..language.knowledge import KB


@cache
def stems() -> dict[str, Any]:
    """How a stem says what it does not spell out, and which rows an answer sheet shows."""
    said: dict[str, Any] = read_yaml(
        (KB / "teaching" / "stems.yaml").read_text("utf-8"), "kb/teaching/stems.yaml"
    )
    return said

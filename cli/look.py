"""The one look of every page that is written: survey, note, sheets, rule book, quiz."""

from __future__ import annotations

from functools import cache
from pathlib import Path


@cache
def look() -> str:
    """The stylesheet."""
    return (Path(__file__).parent / "page" / "look.css").read_text(encoding="utf-8")

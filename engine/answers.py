"""An answer as plain data: a word, a sentence, and rows of label, text and section. A terminal or a program shows it."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass
class Row:
    """One line of an answer: its label, what it says, and who says so."""

    label: str
    text: str
    source: str = ""
    rank: int = 5            # what is left out first when the answer is too long: the highest
    lines: int = 0           # lines it may always take


@dataclass
class Answer:
    """An answer to one question."""

    word: str
    sentence: str
    rows: list[Row] = field(default_factory=list)
    plain: list[str] = field(default_factory=list)
    root: str = ""           # the node of the graph it answers from
    rule: str = ""
    on: str = ""

    def as_dict(self) -> dict:
        return {"answer": self.word, "sentence": self.sentence, "rows": [{"label": r.label, "text": r.text, "source": r.source} for r in self.rows], "plain": self.plain, "root": self.root, "rule": self.rule, "on": self.on}


class Unclear(Exception):
    """A question that names something that is not there; the message says what is."""

"""An answer as plain data: a word, a sentence, and rows of label, text and section. A terminal or a
program shows it.
"""

from __future__ import annotations

from ..basics.notebook import shown


class Row:
    """One line of an answer: its label, what it says, and who says so."""

    def __init__(
        self, label: str, text: str, source: str = "", rank: int = 5, lines: int = 0
    ) -> None:
        self.label, self.text, self.source = label, text, source
        self.rank = rank  # what is left out first when the answer is too long: the highest
        self.lines = lines  # lines it may always take
        # the edit of a pack that it tells of: the pack and the number there
        self.edit: tuple[str, int] | None = None


class Answer:
    """An answer to one question: *root* is the node of the graph it answers from."""

    def __init__(
        self,
        word: str,
        sentence: str,
        rows: list[Row] | None = None,
        root: str = "",
        rule: str = "",
        on: str = "",
    ) -> None:
        self.word, self.sentence, self.rows = word, sentence, [] if rows is None else rows
        self.plain: list[str] = []
        self.root, self.rule, self.on = root, rule, on
        self.chained = ""  # why the second chainer did not confirm it, where nobody asked for that

    def _repr_html_(self) -> str:
        rows = [(row.label, row.text, row.source) for row in self.rows if row.text]
        return shown(f"{self.word} {self.sentence}".strip(), rows, self.chained)

    def as_dict(self) -> dict:
        return {
            "answer": self.word,
            "sentence": self.sentence,
            "rows": [{"label": r.label, "text": r.text, "source": r.source} for r in self.rows],
            "plain": self.plain,
            "root": self.root,
            "rule": self.rule,
            "on": self.on,
            **({"chained": self.chained} if self.chained else {}),
        }


class Unclear(Exception):
    """A question that names something that is not there; the message says what is."""

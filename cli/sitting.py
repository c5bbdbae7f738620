"""A quiz taken at the terminal, question by question; every answer is kept when it is given, so
that one who breaks off goes on from there.
"""

from __future__ import annotations

import datetime
import sys
import textwrap
from pathlib import Path
from typing import Any

from ..engine.front import (
    TAKEN_ON_PAPER,
    Fault,
    Instance,
    Maker,
    Model,
    Place,
    Value,
    asks_for_an_order,
    chain_of,
    diagnose,
    explained_answer,
    key_places,
    letter,
    picks_several,
    points,
    points_kept,
    points_said,
    same_answer,
    typed_answer,
)
from .layout import Line, Put
from .quiz_files import keep, read_results, see_writable

LETTERS = "ABCDEFGH"


def results_of(path: str, quiz: dict[str, Any], name: str) -> dict[str, Any]:
    """What a results file keeps so far of *quiz*, or what it begins with where there is none.

    Raises:
        Fault: it keeps what somebody else answered, or answers to another quiz.
    """
    if Path(path).exists():
        kept = read_results(path)
    else:
        kept = {
            "quiz": quiz["digest"],
            "title": quiz["quiz"],
            "name": name,
            "law": quiz["law"],
            "answers": [],
        }
    if kept.get("quiz") != quiz["digest"]:
        raise Fault(
            "already-there",
            Place(path),
            "this file keeps the answers to another quiz",
            "name another file",
        )
    if name and kept.get("name") and name != kept["name"]:
        raise Fault(
            "already-there",
            Place(path),
            f'this file keeps the answers of "{kept["name"]}", and not of "{name}"',
            "name another file",
        )
    kept["name"] = kept.get("name") or name
    return kept


class Sitting:
    """One learner at one quiz, with what is kept of the answers."""

    def __init__(
        self,
        quiz: dict[str, Any],
        kept: dict[str, Any],
        path: Path,
        maker: Maker,
        models: dict[str, Model],
        put: Put,
        width: int,
    ) -> None:
        self.quiz, self.kept, self.path = quiz, kept, path
        self.maker, self.models = maker, models
        self.put, self.width = put, width

    def run(self) -> None:
        """Ask what was not answered yet, until the end or until the learner stops.

        Raises:
            Fault: the answers cannot be kept, or a question is none any longer.
        """
        see_writable(self.path)
        self._open()
        done = {answer["question"] for answer in self.kept["answers"]}
        if done:
            self.put([[(f"Going on after question {len(done)}.", "source")], []])
        for number, written in enumerate(self.quiz["questions"], 1):
            if written["question"] not in done and not self._ask(number, written):
                return
        self._close()

    # ---- what is said
    def _open(self) -> None:
        """What to be careful about, and what is assumed where a question does not say."""
        self.put([*self._wrapped(self.quiz["caution"]), []])
        if self.quiz.get("taken") and not self.path.exists():
            lines: list[Line] = [[(TAKEN_ON_PAPER, "source")]]
            for text in self.quiz["taken"]:
                lines += self._hanging(text, "source")
            self.put([*lines, []])

    def _pose(self, number: int, question: Instance, written: dict[str, Any]) -> None:
        """The question and its options; said so where the quiz was made with others."""
        stem = textwrap.wrap(f"{number}. {question.stem}", self.width)
        self.put([[(line, "head" if not i else "")] for i, line in enumerate(stem)])
        texts = [option.text for option in question.options]
        if question.stem != written["stem"] or texts != [
            each["text"] for each in written["options"]
        ]:
            changed = (
                "(This question has changed since the quiz was made; it is asked as it is now.)"
            )
            self.put([[(changed, "caution")]])
        for i, text in enumerate(texts):
            lines = textwrap.wrap(f"{letter(i)}. {text}", self.width - 6)
            self.put(
                [[(("   " if not n else "      ") + line, "")] for n, line in enumerate(lines)]
            )

    def _stop(self) -> None:
        """Where to go on from, for one who breaks off."""
        kept = f"the answers so far are in {self.path}." if self.kept["answers"] else ""
        self.put([[], [("Stopped; " + (kept or "nothing was answered."), "source")]])

    def _explain(self, question: Instance, about: dict[str, Any], beliefs: list[str]) -> None:
        """Why the key is right: the rule, its section, the numbers that lead to it; and what one
        believes who answers otherwise.
        """
        lines = []
        if about["says"]:
            lines.append(f"{about['says']} {about['because']}".strip() + _cited(about["section"]))
        for each in about["sections"]:
            lines.append(f"{each['option']}: {each['says']}" + _cited(each["section"]))
        lines += chain_of(self.maker, question)
        for name in dict.fromkeys(beliefs[:2]):
            belief = self.maker.beliefs[name]
            lines.append(
                f"That answer comes of believing: {belief.says} {belief.corrected} (whywire rules"
                f" {belief.offends})"
            )
        for text in lines:
            self.put(self._hanging(text, ""))
        self.put([[]])

    def _close(self) -> None:
        """How many were right, what to read again, and what is believed."""
        answers = self.kept["answers"]
        right_ones = sum(answer["right"] for answer in answers)
        total = points_said(map(points_kept, answers))
        parts = "" if total == str(right_ones) else f"; {total} points"
        self.put([[(f"{right_ones} of {len(answers)} right{parts}.", "head")]])
        missed = [each["rule"] for each in answers if not each["right"] and each["rule"]]
        if missed:
            rules = "; ".join(f"whywire rules {rule}" for rule in dict.fromkeys(missed))
            self.put([[("Read again: " + rules, "")]])
        for name in dict.fromkeys(name for answer in answers for name in answer["beliefs"]):
            belief = self.maker.beliefs.get(name)
            if belief:
                self.put(self._wrapped(f"{name}: {belief.says} {belief.corrected}"))

    def _wrapped(self, text: str, style: str = "") -> list[Line]:
        return [[(line, style)] for line in textwrap.wrap(text, self.width)]

    def _hanging(self, text: str, style: str) -> list[Line]:
        """A text set in, its later lines further than its first."""
        lines = textwrap.wrap(text, self.width - 4)
        return [[(("  " if not i else "    ") + line, style)] for i, line in enumerate(lines)]

    # ---- what is asked
    def _ask(self, number: int, written: dict[str, Any]) -> bool:
        """Put one question, judge the answer and keep it; False where the learner stops."""
        question = self.maker.again(self.models, written["question"])
        self._pose(number, question, written)
        try:
            value, said = self._answer_to(question)
        except KeyboardInterrupt:
            # said here, where it is known what is kept; `wall` makes the exit code of it
            self._stop()
            raise
        if value is None:
            self._stop()
            return False
        self._judge(question, value, said)
        # after each answer: whoever is broken off loses none
        keep(self.path, self.kept)
        return True

    def _answer_to(self, question: Instance) -> tuple[Value, str]:
        """The learner's answer and how it reads; (None, "") at the end of input, or where it is put
        off.
        """
        read = self._letters if _takes_letters(question) else self._typed
        while True:
            sys.stdout.write(_prompt(question))
            sys.stdout.flush()
            line = sys.stdin.readline()
            text = line.strip()
            if not line or text.lower() in ("q", "quit"):
                return None, ""
            answer = read(question, text) if text else None
            if answer is not None:
                return answer

    def _letters(self, question: Instance, text: str) -> tuple[Value, str] | None:
        """The places of several options; None, once it is said what is wanted, where *text* does
        not name them.
        """
        letters = [each for each in text.upper() if each.isalpha()]
        known = all(each in LETTERS[: len(question.options)] for each in letters)
        if not letters or not known or len(set(letters)) < len(letters):
            self.put([[("write the letters of your choice, or q to stop", "source")]])
            return None
        places = tuple(LETTERS.index(each) for each in letters)
        if not asks_for_an_order(question):
            places = tuple(sorted(places))
        return places, " ".join(letters)

    def _typed(self, question: Instance, text: str) -> tuple[Value, str] | None:
        """One option or a value; None, once it is said what is wanted, where *text* is neither."""
        try:
            value = typed_answer(question, text)
        except Fault as fault:
            self.put([[(f"{fault.what}; {fault.todo}", "source")]])
            return None
        said = (option.text for option in question.options if option.value == value)
        return value, next(said, text)

    # ---- what is made of it
    def _judge(self, question: Instance, value: Value, said: str) -> None:
        """Tell whether the answer is right, and why, and add it to what is kept."""
        wanted = key_places(question)
        if _takes_letters(question):
            is_right = list(value) == wanted
            key = " ".join(letter(i) for i in wanted)
            worth = points(question, value)
        else:
            is_right = same_answer(question, value, question.key.value)
            key = f"{letter(question.position)}. {question.key.text}"
            # a number may be typed that is none of the options
            worth = points(question, wanted if is_right else [])
        beliefs = [] if is_right else self._behind(question, value)
        about = explained_answer(self.maker, question)
        if is_right:
            self.put([[("Right.", "passes")]])
        else:
            part = f" ({worth} of a point)" if worth else ""
            self.put(self._wrapped(f"Not so. It is {key}{part}", "fails"))
        self._explain(question, about, beliefs)
        self.kept["answers"].append(
            {
                "question": question.name,
                "chosen": said,
                "right": is_right,
                "points": str(worth),
                "rule": about["rule"],
                "beliefs": list(dict.fromkeys(beliefs)),
                "options": [option.text for option in question.options],
                "on": datetime.date.today().isoformat(),
            }
        )

    def _behind(self, question: Instance, value: Value) -> list[str]:
        """The beliefs that may lie behind a wrong answer."""
        if not picks_several(question):
            return [name for group in diagnose(self.maker, question, value) for name in group]
        picked = tuple(option.value for i, option in enumerate(question.options) if i in value)
        beliefs = [name for group in diagnose(self.maker, question, picked) for name in group]
        if beliefs:
            return beliefs
        # no one belief picks just these: those behind what was added and left out
        wrongly = [
            option for i, option in enumerate(question.options) if option.right is not (i in value)
        ]
        behind = [option.belief or option.missed for option in wrongly]
        return [name for name in behind if name]


def _takes_letters(question: Instance) -> bool:
    """Whether several letters are the answer: all that apply, or all in their order."""
    return picks_several(question) or asks_for_an_order(question)


def _prompt(question: Instance) -> str:
    if asks_for_an_order(question):
        return "Letters, as in A C (order counts): "
    return "Letters, as in A C: " if _takes_letters(question) else "Letter or value: "


def _cited(section: str) -> str:
    return f" [{section}]" if section else ""

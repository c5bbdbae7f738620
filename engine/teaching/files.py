"""The files of a quiz as a program keeps them: what `quiz make` and `quiz take` write, and what is
read back of it.
"""

from __future__ import annotations

import datetime

from ..basics.shapes import Text

# The days to come that are reckoned from one must be days, too: none of the last centuries that a
# date can say.
DAY = Text("a day, as in 2026-03-01", r"[12]\d{3}-\d\d-\d\d", datetime.date.fromisoformat)
QUESTION = Text("a question, as in a-model:12", r"[^:\s]+:[0-9]{1,18}(:[0-9]{1,4})?(:[^:\s]+)?")
# What an answer is worth, as in 2/3 of a point.
WORTH = Text("a part of a point, as in 2/3", r"0|1|[1-9]/[1-9]")
LAW = {
    "edition": str,
    "digest": str,
    "packs?": [str],
    "names?": [str],
    "place?": str,
    "date?": str,
    "compare?": str,
}
ANSWER = {
    "question": QUESTION,
    "right": bool,
    "points?": WORTH,
    "on": DAY,
    "chosen?": str,
    "rule?": str,
    "beliefs?": [str],
    "options?": [str],
}
# What `quiz take --results` keeps.
RESULTS = {"quiz": str, "title?": str, "name?": str, "law?": LAW, "answers": [ANSWER]}
# What `quiz take` reads of a quiz.json; how the questions go, the rules say anew.
QUIZ = {
    "quiz": str,
    "digest": str,
    "caution": str,
    "law": LAW,
    "taken?": [str],
    "questions": [{"question": QUESTION, "stem": str, "options": [{"text": str}]}],
}

"""The knowledge grown: a copy of the knowledge base with many rules more, of the kinds that come as
it grows. `grown(folder, 5000)` writes it, and a process reads it by WHYWIRE_KB.

Half of them are about kinds of things that a common job has none of, the other half about circuits,
conductors and loads of one sort of load that a common job has not either: nothing of all that
concerns a house of ranges and dryers, and an answer about one should not wait for it.
"""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

KB = Path(__file__).resolve().parents[1] / "kb"
IN_SUBJECT = 50  # rules about one subject
IN_FILE = 10  # subjects of one file
# rules about things every job has; {} is the number of the rule
COMMON = [
    ("circuit", "length < {} ft"),
    ("conductors", "length of circuit + {} ft < 20000 ft"),
    ("load", "current < {} A"),
    ("overcurrent device", "rating < {} A"),
    ("circuit", "no segments where length > {} ft"),
]
LOAD_OF = {"conductors": " of load of circuit", "circuit": " of load", "load": ""}
LOAD_OF["overcurrent device"] = LOAD_OF["conductors"]


def name(number: int) -> str:
    """A name without digits, one for each number."""
    letters = ""
    while True:
        number, rest = divmod(number, 26)
        letters = chr(ord("a") + rest) + letters
        if not number:
            return f"zz{letters}"
        number -= 1


def _kind(subject: str) -> list[str]:
    """A kind of things with a fact that is given, and the rules about it."""
    lines = [
        f"- rule: {subject}-sum",
        "  says: The sum.",
        f"  about: {subject}",
        "  gives: {sum: height + width}",
        "  practice: common practice, no source",
        "  because: It is so.",
    ]
    for number in range(IN_SUBJECT - 1):
        lines += [
            f"- rule: {subject}-{name(number)}",
            "  says: It is high enough.",
            f"  about: {subject}",
            f"  when: [width > {number + 1} in]",
            f"  must: sum >= {number + 10} in",
            "  practice: common practice, no source",
            "  because: It is so.",
        ]
    return lines


def _load(subject: str) -> list[str]:
    """Rules about what every job has, where its load is of one sort."""
    lines = []
    for number in range(IN_SUBJECT):
        about, test = COMMON[number % len(COMMON)]
        lines += [
            f"- rule: {subject}-{name(number)}",
            "  says: It is as it should be.",
            f"  about: {about}",
            f"  when: [type{LOAD_OF[about]} is {subject}]",
            f"  must: {test.format(number + 1)}",
            "  practice: common practice, no source",
            "  because: It is so.",
        ]
    return lines


def grown(folder: Path, rules: int) -> Path:
    """A knowledge base in *folder*, with that many *rules* more; where it lies."""
    kb = folder / "kb"
    shutil.copytree(KB, kb)
    if not rules:
        return kb
    more = kb / "base" / "zz more"  # read after the words that it adds to
    more.mkdir()
    subjects = [name(number) for number in range(rules // IN_SUBJECT)]
    kinds, loads = subjects[::2], subjects[1::2]
    has = ", ".join(f"{kind}s: many {kind}" for kind in kinds)
    words = ["words:"]
    words += ["  job:", f"    has: {{{has}}}"]
    for kind in kinds:
        words += [f"  {kind}:"] + [
            f"    {fact}: {{is: in, ask: How much?}}" for fact in ("height", "width")
        ]
        words += ["    sum: {is: in}"]
    if loads:
        words += ["  load:", f"    type: {{also choices: {' | '.join(loads)}}}"]
    (more / "words.yaml").write_text("\n".join([*words, ""]))
    for first in range(0, len(subjects), IN_FILE):
        lines: list[str] = []
        for number in range(first, min(first + IN_FILE, len(subjects))):
            lines += (_load if number % 2 else _kind)(subjects[number])
        (more / f"{subjects[first]}.yaml").write_text("\n".join([*lines, ""]))
    return kb


if __name__ == "__main__":
    print(grown(Path(sys.argv[1]), int(sys.argv[2])))

"""An inspector's written correction, matched to the rules it means: by its section and its
words.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from ..language.knowledge import Knowledge
from ..language.rules import EDITIONS, JUDGING, Rule
from ..proving.wording import short
from ..running.beside import Correction
from .opening import Opened

SECTION = re.compile(r"\d{2,3}\.\d+(?:\([A-Za-z0-9]{1,4}\))*")
WORD = re.compile(r"[a-z]{4,}")
# words that any correction has: they tell no rule from another
COMMON = frozenset(
    "shall must does required requires require provide provided install installed installation"
    " have been with where that this from they them than then when what which these those each"
    " every other only more less least least most into onto upon under over above below code"
    " section article per missing none need needs needed correct corrected within without before"
    " after there their your being also used using made make both such".split()
)
STEM = 5  # letters by which two words are held to be one
MOST = 5  # rules shown for one correction
SAME, AROUND, NUMBER, WORDS = "the section", "the section around it", "the same number", "its words"
RANKS = (SAME, AROUND, NUMBER, WORDS)
ORDER = ("fails", "cannot tell", "advice", "passes")
# what weighs how much: the numbers are ours
BY_SECTION = {SAME: 4, AROUND: 3, NUMBER: 1, WORDS: 0}
BY_ANSWER = (3, 2, 2, 2, 0)  # in that order; nothing where it applies to nothing here
MOST_WORDS = 4
BESIDE = 3  # what weighs so much less than the likeliest is shown beside it


@dataclass(frozen=True)
class Meant:
    """A rule that a correction may mean, and what it came to here."""

    rule: str
    says: str
    section: str
    by: str  # the closest of RANKS
    words: int  # how many words they share
    edition: str  # of the section, where it is not the edition in force
    answers: tuple[tuple[str, str], ...]  # (thing, answer) of this job


def meant_by(correction: Correction, job: Opened) -> list[Meant]:
    """The rules that a correction may mean, the likeliest first; none where no rule has its section
    or several of its words.
    """
    wanted = SECTION.findall(correction.section) or SECTION.findall(correction.says)
    stems = _stems(correction.says)
    answers: dict[str, list[tuple[str, str]]] = {}
    for finding in job.told.standing.findings:
        thing = short(job.told.standing.world.things[finding.on])
        answers.setdefault(finding.rule, []).append((thing, finding.answer))
    found = []
    for rule in job.knowledge.rules.values():
        if rule.verb in JUDGING:
            meant = _meant(rule, wanted, stems, answers.get(rule.id, []), job.knowledge)
            if meant is not None:
                found.append(meant)
    if not found:
        return []
    found.sort(key=lambda one: (-_weight(one), one.rule))
    least = _weight(found[0]) - BESIDE
    near = [one for one in found if _weight(one) >= least][:MOST]
    # beside what is about something that is there, words that are about nothing there are no help
    here = found[0].answers
    return [one for one in near if one.answers or not here or one.by != WORDS]


def _weight(meant: Meant) -> int:
    """How likely a rule is meant: by its section, by its words, and by what it came to here; what
    an inspector wrote is about something that is there.
    """
    worst = min((ORDER.index(answer) for _, answer in meant.answers), default=len(ORDER))
    return BY_SECTION[meant.by] + 2 * min(meant.words, MOST_WORDS) + BY_ANSWER[worst]


def _meant(
    rule: Rule,
    wanted: list[str],
    stems: frozenset[str],
    answers: list[tuple[str, str]],
    knowledge: Knowledge,
) -> Meant | None:
    """Whether a rule may be meant, and by what."""
    shared = len(stems & _stems(_text_of(rule)))
    section, edition = rule.section(knowledge.edition) or "", ""
    by = _by_section(wanted, SECTION.findall(section))
    if by != SAME:
        # an inspector may cite the number of another edition
        sections = {other: SECTION.findall(rule.section(other) or "") for other in EDITIONS}
        edition = next(
            (e for e, there in sections.items() if _by_section(wanted, there) == SAME), ""
        )
        by = SAME if edition else by
    if not by and shared > 1:
        by = WORDS
    if not by:
        return None
    return Meant(rule.id, rule.said, section, by, shared, edition, tuple(answers))


def _by_section(wanted: list[str], there: list[str]) -> str:
    """How near the nearest two sections of both are; "" where none is."""
    near = {_near(one, other) for one in wanted for other in there}
    return next((rank for rank in RANKS if rank in near), "")


def _near(one: str, other: str) -> str:
    """How near two sections are.

    >>> _near("110.14(D)", "110.14(D)"), _near("210.8(A)(6)", "210.8(A)"), _near("210.8", "210.80")
    ('the section', 'the section around it', '')
    """
    if one == other:
        return SAME
    longer, shorter = (one, other) if len(one) > len(other) else (other, one)
    if longer.startswith(shorter + "("):
        return AROUND
    return NUMBER if one.partition("(")[0] == other.partition("(")[0] else ""


def _text_of(rule: Rule) -> str:
    """Everything in a rule that has words: its sentence, its reason, its lines."""
    lines = (rule.d.get(key, "") for key in ("because", "when", *JUDGING))
    return " ".join((rule.said, *map(str, lines)))


def _stems(text: str) -> frozenset[str]:
    """The words of a text that tell it from others, cut to the letters by which they are one."""
    words = WORD.findall(text.lower())
    return frozenset(word[:STEM] for word in words if word not in COMMON)

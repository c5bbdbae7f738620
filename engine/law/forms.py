"""The forms of a pack's head and of edits, each key with what it is for and what may stand there.

What a rule that an edit writes may hold is the form of a rule (`language.forms`); which of these
keys an edit takes, its verb says (`verbs`).
"""

from __future__ import annotations

from ..basics.forms import (
    DAY,
    EDITION,
    FORCE,
    LINE,
    LINES,
    LISTED,
    OTHER,
    PROSE,
    RULES,
    YES_NO,
    Form,
    Key,
)

# the order in which packs over the base are applied
LAYERS = (
    "state",
    "county",
    "city",
    "utility",
    "owner",
    "shop",  # a contractor's own habits: over the packs of the work alone (`work.opening`)
)
HEAD = Form(
    "a pack takes no",
    "pack-key",
    {
        "pack": Key("The name of the pack: one, and no other pack has it."),
        "title": Key("What it is called in reports."),
        "authority": Key("Who made this law."),
        "cite": Key("The ordinance, as in Ordinance 2025-14; an edit adds its section."),
        "layer": Key(f"Whose law it is. Packs are applied in this order: {', '.join(LAYERS)}."),
        "place": Key("The place where it is in force; a job names it as place:."),
        "also": Key("Other names of the place.", LISTED),
        "within": Key(
            "The place or pack that this one lies within; what is in force there is in force here."
        ),
        "adopts": Key(
            "The editions of the code that the place adopts, each from: and until:.", OTHER
        ),
        "choice": Key("Who may choose where two editions are open, as in permit holder."),
        "from": Key("The first day: permits of that day and later.", DAY),
        "until": Key("The first day on which it no longer holds.", DAY),
        "editions": Key("The editions it is written for.", OTHER),
        "documents": Key("Where the documents that it cites can be read.", OTHER),
        "says": Key("What it is, in one sentence."),
        "notes": Key("What a reader should know."),
        "written": Key("Who wrote it, and when."),
    },
)


WINDOW = Form(
    "an adopted edition takes no",
    "adopts-form",
    {
        "edition": Key(),
        "from": Key(),
        "until": Key(),
    },
)


# of every edit, then those that some verbs take
EDIT: dict[str, Key] = {
    "cite": Key("The section of the ordinance."),
    "reason": Key("Why, in one sentence."),
    "from": Key("The first day on which it is in force: permits of that day and later.", DAY),
    "until": Key("The first day on which it is no longer in force.", DAY),
    "of": Key("What it was written over; whywire check says what to write."),
    "meaning": Key(
        "What it was understood to mean; whywire check says it back, and notices when that moves."
    ),
    "relieves": Key(
        "yes where it asks less than what stands below it.",
        YES_NO,
        "write relieves: yes where the edit asks less than before",
    ),
    "examples": Key(
        "One that comes out otherwise because of it, and one that it leaves alone.", OTHER
    ),
    "notes": Key("What a reader should know.", PROSE),
    "corrected": Key(
        "The day on which a slip of it was mended; it holds from the day that from: says.", DAY
    ),
    "dropping": Key("Keys of the old rule that are left out on purpose.", LISTED),
    "strike": Key("The words that go, as they stand in force."),
    "insert": Key("The words that come."),
    "force": Key("must: law. should: advice.", FORCE),
    "row": Key("The row of the table, by its keys: {size: 6 AWG}.", LINES),
    "column": Key("The column of the cell."),
    "insert row": Key("A whole row: every key and value.", LINES),
    "strike row": Key("The keys of the row that goes.", LINES),
    "to": Key("The new value with its unit; of a redate {from: day, until: day}.", OTHER),
    "as in": Key("The edition whose value is taken.", EDITION),
    "edit of": Key("The pack whose edit is re-dated."),
    "only when": Key("The condition under which the rule still holds.", LISTED),
    "drop": Key("The condition that no longer counts, as it stands."),
    "edition": Key("The edition that the rule is taken over from.", EDITION),
    "where": Key(
        "The condition, or conditions, under which it holds; elsewhere all stands as it was.",
        LISTED,
    ),
    "choice until": Key(
        "The day from which there is no choice any more; up to then the old text or the new.", DAY
    ),
    "chosen by": Key("The yes or no of a job that says that the new text was chosen."),
    "as": Key("The value as which a fact is taken; of a replaced section, the new rule's name."),
    "as at least": Key("The value below which a fact is not taken."),
    "as at most": Key("The value above which a fact is not taken."),
    "against": Key("any, or laxer: which edits of later packs a lock keeps out."),
    "ends": Key("The rules that go with an adopted one; none where none does.", LISTED),
    "reaches": Key("The rules of a section that it reaches, each by its name.", LISTED),
    "answers": Key("The short sentences that go with it; none where they go.", OTHER),
    "instead of": Key(
        "The rules in whose place it stands where its own conditions are "
        "so; where that is not told, nothing is concluded.",
        RULES,
    ),
    "counts as": Key(
        "yes where the rule may say what people are asked, without anyone looking.",
        YES_NO,
        "write counts as: yes where a rule may say what a person is asked",
    ),
}
# what is one line, whatever the verb
ONE_LINE = tuple(
    name for name, key in EDIT.items() if key.takes in (LINE, DAY, YES_NO, EDITION, FORCE)
)

# beside what an example of a rule may say: which rule it is about, and why it comes out so
EXAMPLE_OF_AN_EDIT = Form(
    "an example takes no",
    "example-key",
    {
        "rule": Key("The rule that is run (in an edit: the one edited, unless it is said)."),
        "given": Key("The facts, named as the rule names them.", OTHER),
        "answer": Key("passes, fails, cannot tell, advice, or does not apply."),
        "gives": Key("What is filled: {fact: value}; unknown is a value here.", OTHER),
        "because": Key("Why it comes out so."),
        "note": Key("What the example shows."),
        "holds": Key("Of an exception, a caution or a refusal: yes, no, cannot tell."),
    },
)

"""The forms of what a pack holds: rules, tables, values, actions and words, each key with what it
is for and what may stand there.

A form is declared once. Whoever reads refuses what it has not, an editor is told what each key is
for, and the JSON Schema is made of it.
"""

from __future__ import annotations

from ..basics.forms import (
    CONDITION,
    CONDITIONS,
    DOER,
    KIND,
    LINES,
    LISTED,
    OF_WORK,
    OTHER,
    RULES,
    SECTIONS,
    Form,
    Key,
)

DOERS = ("licensed", "helper", "anyone", "others", "inspector", "utility")

RULE = Form(
    "a rule takes no",
    "rule-key",
    {
        "rule": Key("The name of the rule: words joined by hyphens. It never changes."),
        "says": Key("The rule in one plain sentence."),
        "about": Key("The kind of thing it is about.", KIND),
        "when": Key(
            "Conditions, one to a line; all must be so. any of: [line, line] means any.", CONDITIONS
        ),
        "must": Key("What must be so: passes, fails, or cannot tell.", CONDITION),
        "must not": Key("What must not be so.", CONDITION),
        "should": Key("Good practice: where it is not met, that is advice.", CONDITION),
        "gives": Key("Fills a fact from others: {fact: formula}.", LINES),
        "reckons": Key("Fills a fact only where nobody told it: {fact: formula}.", LINES),
        "assumes": Key(
            "A lawful default where nothing is told or given; it shows as an assumption.", LINES
        ),
        "designs": Key("Fills what the job leaves open; it shows as designed.", LINES),
        "tries": Key(
            "Tries every row of a table: {size: from TABLE by KEY}; each must "
            "about this kind is a test.",
            LINES,
        ),
        "refers": Key("Refuses to conclude: what to do instead."),
        "warns": Key("A caution; with at: the moment."),
        "lacks": Key("What is not checked for want of rules."),
        "exception to": Key(
            "The rules that are set aside where these conditions are proven.", RULES
        ),
        "steps": Key("Scratch arithmetic with names of its own: {name: formula}.", LINES),
        "picks": Key("The fact that takes the first row that passes (with tries)."),
        "leaving out": Key("Tests that the pick does not use (with tries).", RULES),
        "also": Key("Advice that the pick shall use (with tries).", RULES),
        "at": Key("The moment of the caution, as in before drilling (with warns)."),
        "code": Key(
            "Its section by edition: {2017: 210.19(A)(1)(a), 2023: "
            "210.19(A)(1)}; each holds until the next edition listed, gone ends "
            "it.",
            SECTIONS,
        ),
        "manufacturer": Key("The instruction it comes from."),
        "local": Key("The local law it comes from."),
        "practice": Key("Whose practice it is; common practice, no source where that is so."),
        "code by": Key(
            "The fact by whose choices the sections differ; each says whose it "
            'is: {2017: "NM-B: 334.30; UF-B: 340.10(4)"}. Of a table the key.'
        ),
        "because": Key("The reason, in one sentence."),
        "doubt": Key("What is unsure."),
        "limits": Key("What an exception never does."),
        "examples": Key(
            "One where it applies, one where it does not, one that cannot tell, "
            "and under, at and over each threshold.",
            OTHER,
        ),
        "answers": Key("Sentences for the short answer.", OTHER),
        "withdrawn": Key("Why it is no longer used."),
        "scope": Key("What it is read for."),
        "formerly": Key("The names it had before; they still work.", LISTED),
        "takes": Key(
            "A part: what it is, whichever is bought. How many, or how long, stands beside.",
            OF_WORK,
        ),
        "work": Key("A task, in a few words; with minutes: and by:.", OF_WORK),
        "hold": Key(
            "A stop until somebody has looked or tested, in a few words; with minutes: and by:.",
            OF_WORK,
        ),
        "needs": Key("States of the job that there must be first: [wire in, dead].", LISTED),
        "follows": Key(
            "States after which it comes, where some task of the job makes them.", LISTED
        ),
        "by habit after": Key(
            "States after which it comes by habit alone; a shop may have it otherwise.", LISTED
        ),
        "makes": Key("States that there are when it is done.", LISTED),
        "sees": Key("States that have to be seen here, before anything hides them.", LISTED),
        "hides": Key("States that nobody sees afterwards.", LISTED),
        "undoes": Key("States that there are no longer when it is done.", LISTED),
        "comes with": Key(
            "Other parts that it brings, and that nobody buys beside it (with takes).", LISTED
        ),
        "by": Key(f"Who does it: {', '.join(DOERS)}.", DOER),
        "stage": Key("When it is done, a row of stages-of-work.", OF_WORK),
        "moment": Key("The moment whose cautions belong to it, a row of moments-of-work.", OF_WORK),
        "asks": Key("A question of it to a helper, before lunch.", OF_WORK),
        "count": Key("How many (with takes).", OF_WORK),
        "feet": Key("How many feet of what is joined from lengths as sold (with takes).", OF_WORK),
        "pieces": Key("How many pieces are cut, each whole (with takes and each:).", OF_WORK),
        "each": Key("How long each piece is (with takes and pieces:).", OF_WORK),
        "part": Key("How it is called at the counter, a row of parts (with takes).", OF_WORK),
        "minutes": Key(
            "How long one licensed person and one helper take together (with work or hold).",
            OF_WORK,
        ),
    },
)


ANSWERS = Form(
    "answers take no",
    "answers-key",
    {
        "passes": Key("The sentence where it passes."),
        "fails": Key("The sentence where it fails."),
        "cannot tell": Key("The sentence where it cannot be told."),
        "needed": Key("The label before what is needed."),
        "have": Key("The label before what there is."),
        "plain": Key("Sentences for a homeowner.", OTHER),
        "argued": Key("Rules a person will argue with, and that do not help.", LISTED),
        "beside": Key("Rules that pass, and that a person would otherwise mend.", LISTED),
        "right": Key("What is said where another rule names this one beside itself."),
        "short": Key("The rule in a few words."),
        "allowed": Key(
            "Of an exception to what could hurt somebody: what it allows here, as long as what."
        ),
        "against": Key(
            "What it does not do, to who argues with it; {needed} is that of the rule that fails."
        ),
        "hints": Key("What would pass, where no run can show it.", LISTED),
        "since": Key(
            "In a word or two, why what it asks for is put in: outdoors. The first that is known.",
            LISTED,
        ),
        "unsettled": Key(
            "Facts that nobody should build by where it refers, and what a design says instead: "
            "{fact: sentence}.",
            LINES,
        ),
        "asked": Key("Facts that a question about is answered by this rule.", LISTED),
        "rows": Key("Lines of its own, with facts filled in.", LINES),
        "under": Key("What it is called to be under a number that is to be met exactly."),
        "over": Key("What it is called to be over a number that is to be met exactly."),
    },
)


PLAIN_ANSWERS = Form(
    "plain takes no",
    "answers-key",
    {
        "passes": Key("The sentence where it passes."),
        "fails": Key("The sentence where it fails."),
        "cannot tell": Key("The sentence where it cannot be told."),
        "why": Key(),
        "means": Key(),
    },
)


EXAMPLE = Form(
    "an example takes no",
    "example-key",
    {
        "given": Key("The facts, named as the rule names them.", OTHER),
        "answer": Key("passes, fails, cannot tell, advice, or does not apply."),
        "gives": Key("What is filled: {fact: value}; unknown is a value here.", OTHER),
        "holds": Key("Of an exception, a caution or a refusal: yes, no, cannot tell."),
        "sets aside": Key(
            "The rules that are set aside here, each of which has something to say of it.", LISTED
        ),
        "edition": Key(
            "The editions in which it comes out so; every edition of the rule unless it is said.",
            LISTED,
        ),
        "note": Key("What the example shows."),
    },
)


TABLE = Form(
    "a table takes no",
    "table-key",
    {
        "table": Key("The name of the table, as lines say it."),
        "says": Key("What it gives, in one sentence."),
        "code": RULE["code"],
        "code by": RULE["code by"],
        "manufacturer": RULE["manufacturer"],
        "local": RULE["local"],
        "practice": RULE["practice"],
        "file": Key("The CSV beside this file, untouched."),
        "keys": Key(
            "Its keys, each with its direction and unit: {size: exact, ambient: next row up °C}.",
            OTHER,
        ),
        "across": Key("The keys that run across, as in copper / 60.", OTHER),
        "values": Key("Its values with their units: {ampacity: A}.", OTHER),
        "new words": Key("yes where a pack may write words there that no row has yet."),
        "no row": Key(
            'The choices of a key that have no row, and why: {kind: "NM-B | MC: '
            'a cable has no trade size"}.',
            OTHER,
        ),
        "copied": Key("Who copied it, and when.", LINES),
        "checked": Key("When and against what it was checked.", LINES),
        "doubt": RULE["doubt"],
        "notes": Key("What a reader should know."),
    },
)


VALUE = Form(
    "a value takes no",
    "value-key",
    {
        "value": Key("The name of the number, as lines say it."),
        "says": RULE["says"],
        "is": Key("The number with its unit, or by edition: {2017: 3 %, 2023: 5 %}.", OTHER),
        "code": RULE["code"],
        "manufacturer": RULE["manufacturer"],
        "local": RULE["local"],
        "practice": RULE["practice"],
        "doubt": RULE["doubt"],
        "because": RULE["because"],
        "examples": RULE["examples"],
    },
)


ACTION = Form(
    "an action takes no",
    "action-key",
    {
        "action": Key("What to do, as it is said and bought; facts in braces, as they are then."),
        "about": Key("The kind of thing that it is done to.", KIND),
        "names": Key(
            "What is in braces and no fact: {cable: line}; of several lines the first known.", OTHER
        ),
        "change": Key(
            "What becomes otherwise: {fact: value}; in steps: {fact: each of "
            "TABLE}, {fact: [12 A, 16 A]}, {fact: every 1 in from 6 in to 24 "
            "in}.",
            OTHER,
        ),
        "direction": Key("Whether it goes up alone, or down alone."),
        "when": Key("Where it makes sense: every line must be known to be so.", CONDITIONS),
        "untells": Key("What is settled anew with it, and is not as it was told.", LISTED),
        "brings": Key("What comes along with it by itself, as the ground of a cable.", LISTED),
        "unless": Key("Where it makes none: where any line is known to be so.", CONDITIONS),
        "finds": Key(
            "What is not done but found by looking: {fact: value}, where nobody told it.", LINES
        ),
        "takes out": Key("The list out of which members are led, one more at each step."),
        "lessens": Key("What is told of the number of them, and is less then.", LISTED),
        "cost": Key("The class of work: a row of the table costs-of-work."),
        "practice": RULE["practice"],
        "because": RULE["because"],
    },
)


WORD = Form(
    "a word takes no",
    "words-key",
    {
        "is": Key(
            "A unit (A, V, ft ...), yes or no, date, text, row of TABLE, link "
            "KIND, many KIND, or choices parted by |."
        ),
        "ask": Key("The question to a person."),
        "look": Key("Where the answer is found."),
        "effort": Key("From 1 (read a label) to 5 (open something up)."),
        "also": Key("Other names that people use.", LISTED),
        "means": Key("What people write, and which choice they mean.", OTHER),
        "may mean": Key(
            "What people write that may be any of several choices, parted by |; "
            "which one is asked for.",
            LINES,
        ),
        "may be": Key("What is written where somebody looked and there is none, as in not marked."),
        "comes with": Key("The fact that it is not carried over without."),
        "back": Key("The fact by which the things of this list name it."),
        "stands for": Key("The longer path that this short name means."),
        "try": Key("Values worth trying when an answer looks for a way out.", LISTED),
        "design": Key("What it is called in the design that an inspection prints."),
        "careful": Key("The caution where looking is dangerous."),
        "note": Key("What a reader should know."),
        "also choices": Key("Choices added to a word that is there already, parted by |."),
        "formerly": Key("The names it had before; they still work.", LISTED),
        "choices formerly": Key("The names that choices had before: {old name: choice}.", LINES),
        "none where": Key("Of an optional part: what is told by which there is none."),
        "usual": Key(
            "What is usual, as in 1 A to 200 A, or listed in TABLE: of anything "
            "else it is asked whether it is meant."
        ),
        "tier": Key(
            "What it is to a note where nobody told it: it decides, it is "
            "workmanship that is taken as usual, or it is remote."
        ),
        "likely where": Key("Of a remote fact: what, where it is told, makes it worth asking."),
        "guess": Key("What a note takes it for where nobody told it, and says so."),
        "guess where": Key("What must be so for that, as in role of circuit is branch circuit."),
        "assumed as": Key(
            "How a note says what it was taken for; {value} is the value, {°F} in that unit."
        ),
        "right if": Key(
            "How a headline says that it is so; {value} is the value, {circuit} whose it is."
        ),
        "built": Key(
            "What whoever builds it puts in where a requirement waits for it: "
            "[{as: value, where: FACT of LINK is VALUE}]; of an optional part, "
            "as: {fact: value}.",
            OTHER,
        ),
        "asked": Key(
            "Other words for the question: [{where: FACT of LINK is VALUE, ask: ..., look: ...}].",
            OTHER,
        ),
        "asked with": Key(
            "Facts of the same thing: where one of them is asked for, this one is not.", LISTED
        ),
        "measured by": Key(
            "Facts of the same thing that an inspector measures instead: told outright it counts, "
            "and is shown as said and not measured.",
            LISTED,
        ),
        "called": Key("What a headline calls what is asked for: the place of the outlet."),
        "bare": Key("The unit of a number that is written without one."),
        "summed": Key("yes where a sum may be written: 3 x 90, two 45s."),
        "brings": Key(
            "What people write, and what else it says: {230 V: {rated voltage of load: 230 V}}.",
            OTHER,
        ),
        "tells": Key("What is told under this name: a fact of something else, by its path."),
        "change": Key(
            "How hard it is to change in a building that stands: 1 (a mark to "
            "read) to 9 (the place), or never. A reason rather names what is "
            "hard to change."
        ),
        "said": Key(
            "How people say it, {} for the value: carries {}; of yes or no both, parted by |."
        ),
    },
)

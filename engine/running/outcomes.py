"""What a rule may leave on a thing, in the words in which it is kept."""

PASSES, FAILS, TELL, ADVICE, OFF, SET_ASIDE, REFERS, WARNS, LACKS = (
    "passes",
    "fails",
    "cannot tell",
    "advice",
    "does not apply",
    "exception applies",
    "refers",
    "warns",
    "not checked",
)

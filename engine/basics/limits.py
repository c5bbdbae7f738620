"""How much is read and tried: each limit with what it keeps out, far over what honest files hold.
Nothing else states one.

Whoever reaches a limit is told so; nothing is cut short in silence. The base itself is held by
those of a file alone.
"""

from __future__ import annotations

# ---- of any file
FILE_BYTES = 500_000  # the biggest honest file is a tenth of it
# texts, lists and mappings of one file once its aliases are written out; and of all files of a pack
PIECES = 20_000
DEPTH = 40  # lists within lists
LINE = 1_000  # characters of a line of the grammar
BRACKETS = 20  # brackets and conditions within each other in a line
PARTS = 500  # pieces of a line once its steps are written out; the most of the base is 33
# that one value is reckoned from, facts written out, each as often as it is named; the most of the
# base is 141
NUMBERS = 1_000
DIGITS = 40  # characters of a number
# digits of a number that was reckoned, above or below its line; honest ones have less than a
# hundred
VALUE = 1_000
NAME = 80  # characters of a name; the longest of the base has half

# ---- of a pack over the base
FILES = 200  # its own, of every sort
PACK_BYTES = 500_000  # all of them together
PACK_ITEMS = 1_000  # rules, values, tables and actions
EDITS = 200
EDITS_OF_ONE = 30  # of one rule, value or table; each is looked at with and without every other
ROWS = 5_000  # of one table; the longest of the base has 162
CONDITIONS = 100  # lines of one rule; the longest of the base has 11
EXAMPLES = 100  # of one rule; the most of the base has 18
CASES = 500  # of one example, once each `A | B` of it is written out

# ---- of a job
THINGS = 1_000  # forty circuits have three hundred
# beyond, the second chainer takes more room than the rest; the plain one serves alone unless both
# are asked for
DURABLE_THINGS = 150

# ---- of what is told
FAULTS = 100  # of one reading: a person mends the first of them
FAULT = 500  # characters of what is wrong; more of a file is not repeated

"""Read YAML and CSV and keep, for every piece of text, where it stands. The only module that knows
yaml.

Scalars stay text (`210.10` is a section, `014` no number): the vocabulary types them. Tags, merges
and code do not exist here: libyaml composes nodes, and these few lines turn them into text, lists
and mappings.
"""

from __future__ import annotations

import contextlib
import functools
import gc
import io
import re
from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from .errors import Collector, Fault, Place
from .limits import DEPTH, FILE_BYTES, NAME, PIECES

if TYPE_CHECKING:  # a start from the cache reads no YAML
    import yaml

# no text; turns a terminal or a line round
UNSEEN = "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\u202a-\u202e\u2066-\u2069\ufffe\uffff]"
_BREAK = "\r\n?|[\n\x85\u2028\u2029]"
_SPACES = "[\u00a0\u1680\u2000-\u200a\u202f\u205f\u3000]"
_NOTHING = "[\u00ad\u200b-\u200f\u2060\ufeff]"
_PLAIN = str.maketrans("‘’‚“”„‐‑‒–−", 3 * "'" + 3 * '"' + 5 * "-")
NULL = frozenset(("", "~", "null", "Null", "NULL"))  # nothing, and the ways other programs write it
# Things made by readings before all of them are looked at: of a million some 170 MB may be garbage.
LOOK_AFTER = 2_000_000
_MADE: list[int] = []  # how many things each reading made since the last look
# in which a # is meant as a number sign
SENTENCES = (
    "says",
    "because",
    "reason",
    "cite",
    "title",
    "authority",
)


class Text(str):
    """A piece of text and the place it stands at."""

    __slots__ = ("at", "quoted")
    at: Place
    quoted: bool

    def __new__(cls, value: str, at: Place = Place(), quoted: bool = False) -> "Text":
        self = str.__new__(cls, value)
        self.at, self.quoted = at, quoted
        return self

    def __reduce__(self) -> tuple:
        return Text, (str(self), self.at, self.quoted)


def straight(text: str) -> str:
    """*text* with the quotes and dashes of a word processor made plain; as long as it was."""
    return text.translate(_PLAIN)


def no_name(name: str) -> str:
    """What keeps *name* from being one: that nobody could say it, or a letter that only looks like
    the one it seems.
    """
    if len(name) > NAME:
        return f"it has {len(name)} characters"
    if name.isascii():
        return ""
    import unicodedata

    whole = unicodedata.normalize("NFC", name)
    for letter in whole:
        if not unicodedata.normalize("NFD", letter)[0].isascii():
            called = unicodedata.name(letter, "no letter")
            return f'"{letter}" in it is {called}, which is easily taken for another'
    return "" if name == whole else "an accent in it stands apart from its letter"


def digest(text: str, length: int = 16) -> str:
    """A digest of *text*."""
    # a start from the cache needs none, and it takes longer to import than the cache to read
    import hashlib

    return hashlib.sha256(text.encode()).hexdigest()[:length]


@contextlib.contextmanager
def all_kept() -> Iterator[None]:
    """While knowledge is read much is made and nothing let go: looking for garbage all along takes
    a third of the time.

    What was made counts as old afterwards, without a look at each of it. How much was made decides
    when all of it is looked at: a pack that is checked brings many times what a job does.
    """
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            _MADE.append(gc.get_count()[0])
            if sum(_MADE) < LOOK_AFTER:
                gc.freeze()
                gc.unfreeze()
            else:
                _MADE.clear()
                gc.collect()
            gc.enable()


# What a file says: Text, Items or Mapping, each with its place. Which of them a piece is must be
# asked: a person may have written anything.
Piece: TypeAlias = Any


class Items(list[Piece]):
    """A YAML list and its place."""

    at = Place()


class Mapping(dict[str, Piece]):
    """A YAML mapping and its place; its keys are Text."""

    at = Place()
    # of a rule, a table or a value that edits changed: how those are cited, the first edit first
    through = ""
    # of one that is carried into another law: the edition by which it is read; else there is none
    edition: str


def place_of(piece: object, fallback: Place = Place()) -> Place:
    """Where *piece* stands, or *fallback* for text of our own making."""
    return getattr(piece, "at", fallback)


def as_list(piece: Piece) -> list[Any]:
    """What was written once or as a list, as a list.

    >>> as_list("EMT"), as_list(["EMT", "RMC"]), as_list(None)
    (['EMT'], ['EMT', 'RMC'], [])
    """
    if piece is None:
        return []
    return piece if isinstance(piece, list) else [piece]


def read_bytes(path: Path, name: str) -> bytes:
    """The bytes of a file a person named.

    Raises:
        Fault: there is no such file, it cannot be read, or it is none that anybody wrote.
    """
    at = Place(name)
    try:
        if path.is_dir():
            raise Fault("is-a-directory", at, "this is a folder, not a file", "name the file in it")
        if path.exists() and not path.is_file():
            raise Fault(
                "not-a-file", at, "this is not a file but a device or a pipe", "name a file"
            )
        size = path.stat().st_size
        if size > FILE_BYTES:
            raise Fault(
                "file-too-large",
                at,
                f"{size:,} bytes is more than the {FILE_BYTES:,} that are read",
                "is this the right file?",
            )
        return path.read_bytes()
    except FileNotFoundError:
        raise Fault("no-such-file", at, "there is no such file", _beside(path)) from None
    except NotADirectoryError:
        raise Fault(
            "no-such-file",
            at,
            "there is no such file: a part of its path is a file itself",
            "is the name right?",
        ) from None
    except PermissionError:
        raise Fault(
            "not-readable", at, "this file may not be read", "ask its owner for leave to read it"
        ) from None
    except (OSError, ValueError) as error:
        raise Fault(
            "not-readable", at, f"this file cannot be read: {error}", "is the name right?"
        ) from None


def _beside(path: Path) -> str:
    from .errors import suggest

    try:
        names = [p.name for p in path.parent.iterdir() if p.suffix == (path.suffix or ".yaml")]
    except OSError:
        names = []
    return suggest(path.name, names, 8) if names else "is the name right?"


def decode(data: bytes, name: str) -> str:
    """*data* as UTF-8 text.

    Raises:
        Fault: it is none; how to save it so.
    """
    at = Place(name)
    # UTF-32 first: its mark begins with that of UTF-16
    if data[:4] in (b"\xff\xfe\0\0", b"\0\0\xfe\xff"):
        raise Fault("not-utf-8", at, "this file is saved as UTF-32", "save it again as UTF-8")
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise Fault("not-utf-8", at, "this file is saved as UTF-16", "save it again as UTF-8")
    if b"\0" in data:
        if data[:4] == b"PK\3\4":
            what = "this is a word-processor file or an archive"
            raise Fault("not-text", at, what, "save it as plain text, UTF-8")
        todo = "is this the right file? if it is, save it as UTF-8"
        raise Fault("not-text", at, "this file is not text", todo)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise Fault(
            "not-utf-8",
            Place(name, line, 1),
            "this line holds bytes that are not UTF-8",
            "save the file again as UTF-8",
        ) from None


def pieces(piece: Piece) -> int:
    """How many pieces *piece* is made of."""
    if isinstance(piece, dict):
        return 1 + sum(map(pieces, piece.values()))
    if isinstance(piece, list):
        return 1 + sum(map(pieces, piece))
    return 1


def deeper(piece: object, most: int) -> bool:
    """Whether lists and mappings stand more than *most* deep in *piece*, however deep that is."""
    level = [piece]
    for _ in range(most + 1):
        level = [
            kid
            for each in level
            if isinstance(each, (dict, list))
            for kid in (each.values() if isinstance(each, dict) else each)
        ]
        if not level:
            return False
    return True


def read_yaml(text: str, name: str) -> Piece:
    """What *text* says, with a place on every piece.

    Raises:
        Fault: it is no YAML, or more of it than is read.
        Faults: what is written in it means nothing: tags, keys without a value.
    """
    import yaml

    if not text.isascii():
        text = re.sub(_SPACES, " ", text)
    lines = text.split("\n") if text.isascii() and "\r" not in text else re.split(_BREAK, text)
    # what hardly a file has is not looked for in each of its lines
    if "\t" in text or re.search(UNSEEN, text):
        _see_through(lines, name)
    node = _compose(text, name, lines)
    if node is None:
        raise Fault(
            "empty-file",
            Place(name),
            "this file says nothing",
            "see the shipped jobs for the form, or kb/README.md for a pack",
        )
    return _Builder(yaml, name, lines).build(node, 0)


def _see_through(lines: list[str], name: str) -> None:
    """Refuse what looks like a space and is none, or cannot be seen at all: what a person sees in
    the file would not be what it says.
    """
    for number, line in enumerate(lines, 1):
        margin = line[: len(line) - len(line.lstrip())]
        if "\t" in margin:
            raise Fault(
                "tab",
                Place(name, number, margin.index("\t") + 1),
                "a tab stands at the start of this line",
                "use spaces",
            )
        unseen = re.search(UNSEEN, line)
        if unseen:
            raise Fault(
                "unseen-character",
                Place(name, number, unseen.start() + 1),
                f"a character that cannot be seen stands here (U+{ord(unseen[0]):04X})",
                "delete it",
            )


def _compose(text: str, name: str, lines: list[str]) -> yaml.Node | None:
    """The nodes that libyaml makes of *text*, and its complaints as faults of ours."""
    import yaml

    loader, at = _loader(), Place(name)
    try:
        # a long file is counted first: nodes of a file made to be many would fill the memory
        if len(text) > 50_000:
            events = islice(yaml.parse(text, Loader=loader), 3 * PIECES)
            if sum(1 for _ in events) == 3 * PIECES:
                raise Fault(
                    "too-many-pieces",
                    at,
                    f"this file holds more than {PIECES:,} pieces",
                    "divide it",
                )
        return yaml.compose(text, Loader=loader)
    except yaml.MarkedYAMLError as error:
        raise _Slip(error, lines, name).fault() from None
    except yaml.YAMLError as error:
        raise Fault(
            "not-yaml",
            at,
            "this file holds characters that YAML does not allow",
            f"save it as plain UTF-8 text ({str(error).splitlines()[0]})",
        ) from None
    except RecursionError:
        raise Fault(
            "too-deep",
            at,
            f"lists stand more than {DEPTH} deep in this file",
            "is this the right file?",
        ) from None


def set_aside(text: str, key: str) -> str:
    """*text* with the blocks under *key*, which stands alone on its line, left blank: every other
    line keeps its place.

    A block ends at the next line that stands no further in than its key. For files of our own, in
    which that is so.
    """
    block = rf"^( *){key}:\n(?:(?:\1 .*)?(?:\n|\Z))*"
    return re.sub(block, lambda m: m[0].count("\n") * "\n", text, flags=re.M)


def long_texts(text: str) -> list[tuple[int, int, str]]:
    """The texts of *text* that go over several lines: first and last line (from 0), and how it is
    written: "" or one of ' " | >.

    Blank lines below one belong to it only where they are a part of what it says.
    """
    import yaml

    out, lines, line, at = [], text.split("\n"), 0, 0
    for token in yaml.scan(re.sub(_SPACES, " ", text), Loader=_loader()):
        begin, end = token.start_mark, token.end_mark
        if not isinstance(token, yaml.ScalarToken) or begin.line == end.line:
            continue
        first = line + text.count("\n", at, begin.index)
        last = first + text.count("\n", begin.index, end.index) - (end.column == 0)
        keeps_blanks = re.match(r".\d?\+", text[begin.index : begin.index + 3])
        if token.style in ("|", ">") and not keeps_blanks:
            last = _last_said(lines, first, last, len(text))
        out.append((first, last, token.style or ""))
        line, at = first, begin.index
    return out


def _last_said(lines: list[str], first: int, last: int, far: int) -> int:
    """The last line of a block of text that is not blank; a line of spaces further in than its
    margin is a part of what it says. *far* is a margin that no line reaches.
    """
    margins = [_margin(line) for line in lines[first + 1 : last + 1] if line.strip()]
    margin = min(margins, default=far)
    while last > first and len(lines[last]) <= margin and not lines[last].strip():
        last -= 1
    return last


def _margin(line: str, marks: str | None = None) -> int:
    """How far in *line* begins, past spaces (or past *marks*)."""
    return len(line) - len(line.lstrip(marks))


@functools.cache
def _loader() -> type[yaml.SafeLoader]:
    import yaml

    # PyYAML may have been built without libyaml
    base: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

    class Loader(base):
        """Guesses no types: scalars stay text, and to try every pattern on each takes as long as to
        parse it.
        """

        def resolve(self, kind: object, value: object, implicit: object) -> str:
            return "tag:yaml.org,2002:str"

        def descend_resolver(self, current_node: object, current_index: object) -> None:
            pass

        def ascend_resolver(self) -> None:
            pass

    return Loader


Told: TypeAlias = "Fault | None"


class _Slip:
    """What a person may have done where the parser stumbled: it names the place where it could not
    go on, and the slip is often lines above.

    Each method knows one slip by its traces and tells it, or is silent. `SLIPS` is their order: the
    first that speaks is believed, so what looks like several stands before what it is taken for.
    """

    def __init__(self, error: yaml.MarkedYAMLError, lines: list[str], name: str) -> None:
        mark, opened = error.problem_mark or error.context_mark, error.context_mark
        self.error, self.lines = error, lines
        self.problem, self.context = (error.problem or "").lower(), error.context or ""
        self.at = _place(name, mark) if mark else Place(name)
        # where what the parser was in began: a bracket, a quotation mark, a key
        self.opened = _place(name, opened) if opened else None
        self.line = self._line(self.at)
        self.sign = self.line[self.at[2] - 1 : self.at[2]]
        self.before = self.line[: self.at[2] - 1]

    def fault(self) -> Fault:
        """The slip as it is told."""
        for slip in self.SLIPS:
            fault = slip(self)
            if fault is not None:
                return fault
        return Fault(
            "not-yaml",
            self.at,
            f"this is not YAML: {self.error.problem or self.error}",
            "compare the indentation and the brackets with the lines above",
        )

    # ---- what the methods ask
    @property
    def flow(self) -> str:
        """The bracket that the parser was in, if any."""
        if "flow mapping" in self.context:
            return "{"
        return "[" if "flow sequence" in self.context else ""

    def _line(self, at: Place) -> str:
        return self.lines[at[1] - 1] if at[1] <= len(self.lines) else ""

    def _here(self, line: int, column: int) -> Place:
        return Place(self.at[0], line, column)

    def _since_opened(self) -> Iterator[tuple[int, str]]:
        """The lines from where it began to where it broke off, each with its number."""
        opened = self.opened
        first = opened[1] if opened and opened[1] <= self.at[1] else self.at[1]
        return enumerate(self.lines[first - 1 : self.at[1]], first)

    def _said_above(self, number: int) -> int | None:
        """The number of the nearest line above line *number* that says anything."""
        for above in range(number - 1, 0, -1):
            line = self.lines[above - 1].lstrip()
            if line and not line.startswith("#"):
                return above
        return None

    # ---- slips
    def comment_in_brackets(self) -> Told:
        """A # within brackets makes a comment of what should have closed them."""
        if not self.flow and "expected node content" not in self.problem:
            return None
        for number, line in self._since_opened():
            comment = re.search(r"[ {\[,](#[^ ].*)", line)
            if comment:
                return Fault(
                    "comment",
                    self._here(number, comment.start(1) + 1),
                    "what follows # is a comment and is not read, a bracket that closes least of"
                    " all",
                    "put the value in quotes, or the comment on a line of its own",
                )
        return None

    def second_colon(self) -> Told:
        """A colon where a value has begun already: mostly the line above is to blame."""
        if "mapping values are not allowed" not in self.problem:
            return None
        above = self._said_above(self.at[1])
        told = None if above is None else self._blame(above, self.lines[above - 1])
        return told or Fault(
            "colon-in-sentence",
            self.at,
            "a colon followed by a space stands inside a sentence",
            "put the sentence in quotes",
        )

    def _blame(self, above: int, line: str) -> Told:
        """What is wrong with the line above, if it is that which makes a colon here one too
        many.
        """
        first_colon = ":" not in self.before
        if first_colon and self._has_no_colon(above, line):
            return _no_colon(self._here(above, _margin(line, " -") + 1))
        bullet = re.match(r"\s*([–—•·*])\s", line)
        if bullet:
            return Fault(
                "no-dash",
                self._here(above, bullet.start(1) + 1),
                f'"{bullet[1]}" begins no item of a list',
                f"write a plain hyphen and a space: - {line[bullet.end() :].split(':')[0]}:",
            )
        dash = re.match(r"\s*-(?=[^\s-])", line)
        if dash:
            return Fault(
                "no-space",
                self._here(above, dash.end()),
                "no space stands after this dash",
                f"write - {line[dash.end() :].split(':')[0]}:",
            )
        if first_colon:
            return Fault(
                "indentation",
                self._here(self.at[1], _margin(self.line) + 1),
                "this line stands further in than the one above, which has its value already",
                "begin both lines in one column, or put a sentence that goes on in quotes",
            )
        return None

    def _has_no_colon(self, above: int, line: str) -> bool:
        """Whether the line above was meant for a key and its value, and lacks the colon."""
        begins = _margin(line, " -")
        if begins >= _margin(self.line):
            return True
        if re.search(r":(\s|$)", line):
            return False
        # it may be a further line of a sentence that began above it
        before = self._said_above(above)
        if before is None:
            return True
        beginning = self.lines[before - 1]
        return beginning.rstrip().endswith(":") or _margin(beginning, " -") == begins

    def too_deep(self) -> Told:
        """The parser's own limit of lists within lists."""
        if "nesting depth" not in self.problem:
            return None
        what = f"lists stand more than {DEPTH} deep here"
        return Fault("too-deep", self.at, what, "is this the right file?")

    def bracket(self) -> Told:
        """A bracket is open where something stands that cannot stand in it."""
        if not self.flow or not self.opened or "did not find expected" not in self.problem:
            return None
        in_a_value = self.opened[1] == self.at[1] or ":" in self.before
        if self.sign == ":" and in_a_value:
            return Fault(
                "colon-in-sentence",
                self.at,
                "a colon followed by a space stands inside a value",
                "put the value in quotes",
            )
        return Fault(
            "not-closed",
            self.opened,
            f'the "{self.flow}" here is not closed, or a comma is missing after it (noticed at line'
            f" {self.at[1]})",
            'close it with "}"' if self.flow == "{" else 'close it with "]"',
        )

    def quotation(self) -> Told:
        """A quotation mark is open at the end of the file, or where a document begins."""
        if "quoted scalar" not in self.context or not self.opened:
            return None
        return Fault(
            "not-closed",
            self.opened,
            "the quotation mark here is not closed",
            "close it; inside it write the other kind of quotation mark",
        )

    def block_of_text(self) -> Told:
        """A value that begins with > or |, which begin a text over several lines."""
        if "comment or line break" not in self.problem or not self.opened:
            return None
        column = self.opened[2]
        return Fault(
            "bad-character",
            self.opened,
            f'"{self._line(self.opened)[column - 1 : column]}" begins a block of text, and a value'
            " stands behind it",
            "put the value in quotes",
        )

    def words_after_a_quote(self) -> Told:
        """A value that begins with a quotation, and goes on behind it."""
        if "did not find expected" not in self.problem:
            return None
        for number, line in self._since_opened():
            quote = re.search(r"""(?<=:|-)\s+("[^"]*"|'[^']*')\s+\S""", line)
            if quote:
                return Fault(
                    "words-after-a-quote",
                    self._here(number, quote.start(1) + 1),
                    f"the value ends where {quote[1]} does, and more stands behind it",
                    "put the whole value in quotes, and the other kind of quotation mark inside",
                )
        return None

    def sign_in_a_value(self) -> Told:
        """A ? or a dash where only a value can stand."""
        signs = ("mapping keys are not allowed", "block sequence entries")
        if not any(said in self.problem for said in signs):
            return None
        return Fault(
            "bad-character",
            self.at,
            f'"{self.sign}" cannot stand here',
            "put the value in quotes, or leave the line out if it is not known",
        )

    def no_space_after_colon(self) -> Told:
        """A colon and at once a bracket or a quotation mark."""
        key = re.match(r"\s*([\w' -]+):[\[{\"']", self.line)
        if not key:
            return None
        return Fault(
            "no-space",
            self._here(self.at[1], key.end(1) + 1),
            "no space stands after this colon",
            f"write {key[1].strip()}: and then the value",
        )

    def unknown_alias(self) -> Told:
        """A value that begins with *, which begins a name given elsewhere."""
        if "alias" not in self.problem:
            return None
        what = "a name after * was never given with &"
        return Fault("unknown-alias", self.at, what, "write the value out")

    def sign_before_a_value(self) -> Told:
        """A value that begins with a sign that YAML keeps for itself."""
        if "found character that cannot start any token" not in self.problem:
            return None
        what = f'"{self.sign}" cannot begin a value'
        return Fault("bad-character", self.at, what, "put the value in quotes")

    def key_without_colon(self) -> Told:
        """A line that should be a key and a value; or one that a merge of two versions left."""
        if "could not find expected ':'" not in self.problem or not self.opened:
            return None
        if self._line(self.opened).startswith(("<<<<<<<", "=======", ">>>>>>>")):
            return Fault(
                "two-versions",
                self._here(self.opened[1], 1),
                "two versions of this file were put together here, and nobody has chosen",
                "keep one of the two, and delete the lines of signs",
            )
        return _no_colon(self.opened)

    def further_out(self) -> Told:
        """A line of an item that stands left of it."""
        if "expected '-' indicator" not in self.problem:
            return None
        return Fault(
            "indentation",
            self._here(self.at[1], _margin(self.line) + 1),
            "this line stands further out than the item of the list that it belongs to",
            "begin it under the first word of the item, or with a dash where a new item begins",
        )

    def two_documents(self) -> Told:
        """A line of three dashes, below which the file would begin anew."""
        if "document" not in self.problem:
            return None
        what = "a second document begins here (---)"
        return Fault("two-documents", self.at, what, "keep one document to a file")

    SLIPS: Final = (
        comment_in_brackets,
        second_colon,
        too_deep,
        bracket,
        quotation,
        block_of_text,
        words_after_a_quote,
        sign_in_a_value,
        no_space_after_colon,
        unknown_alias,
        sign_before_a_value,
        key_without_colon,
        further_out,
        two_documents,
    )


def _place(name: str, mark: yaml.Mark) -> Place:
    return Place(name, mark.line + 1, mark.column + 1)


def _no_colon(at: Place) -> Fault:
    return Fault(
        "no-colon",
        at,
        "this line has no colon followed by a space",
        "write a key, a colon, a space and a value",
    )


class _Builder:
    """Turns the nodes of one file into text, lists and mappings, each with its place."""

    def __init__(self, module: Any, name: str, lines: list[str]) -> None:
        # a name less to look up, for each of many pieces
        self.scalar, self.sequence = module.ScalarNode, module.SequenceNode
        self.name, self.lines, self.left, self.faults = name, lines, PIECES, Collector()
        self.comments = {n for n, line in enumerate(lines) if "#" in line}
        self.tags = any("!" in line for line in lines)

    def text(self, node: yaml.ScalarNode, at: Place) -> Text:
        """What a scalar says, with the spaces of a word processor made plain."""
        value = node.value
        if not value.isascii():
            value = re.sub(_NOTHING, "", value)
            value = value.strip() if not node.style else value
        if node.style == '"' and re.search(UNSEEN, value):
            self.unseen(value, at)
        # past Text.__new__: this is done for every text
        out = str.__new__(Text, value)
        out.at, out.quoted = at, bool(node.style)
        return out

    def unseen(self, value: str, at: Place) -> None:
        """Refuse what cannot be seen and was written as an escape."""
        sign = re.findall(UNSEEN, value)[0]
        self.faults.add(
            "unseen-character",
            at,
            f"a character that cannot be seen is in this text (U+{ord(sign):04X})",
            "delete it",
        )

    def tag(self, node: yaml.Node, at: Place) -> str:
        """The tag a person wrote on *node*, if any."""
        if at[1] <= len(self.lines) and self.lines[at[1] - 1].startswith("!", at[2] - 1):
            return self.lines[at[1] - 1][at[2] - 1 :].split()[0]
        return node.tag if node.tag.startswith("!") else ""

    def at(self, node: yaml.Node) -> Place:
        mark = node.start_mark
        # past Place.__new__: this is done for every piece
        return tuple.__new__(Place, (self.name, mark.line + 1, mark.column + 1))

    def build(self, node: yaml.Node, depth: int) -> Piece:
        """What *node* says.

        Raises:
            Faults: what means nothing in it.
        """
        piece = self._build(node, depth)
        if depth == 0:
            self.faults.stop()
        return piece

    def _build(self, node: yaml.Node, depth: int) -> Piece:
        at = self.at(node)
        self.left -= 1
        if self.left < 0:
            raise Fault(
                "too-many-pieces",
                Place(self.name),
                f"this file holds more than {PIECES:,} pieces once its aliases are written out",
                "write it without aliases, or divide it",
            )
        if depth > DEPTH:
            raise Fault(
                "too-deep",
                at,
                f"lists stand more than {DEPTH} deep here",
                "is this the right file?",
            )
        if self.tags:
            tag = self.tag(node, at)
            if tag:
                what = f'"{tag}" is a tag, and tags mean nothing here'
                self.faults.add("tag", at, what, "leave it out")
        if node.__class__ is self.scalar:
            return self.text(node, at)
        if node.__class__ is self.sequence:
            return self._items(node, at, depth)
        return self._mapping(node, at, depth)

    def _items(self, node: yaml.SequenceNode, at: Place, depth: int) -> Items:
        scalar = self.scalar
        for item in node.value:
            if item.__class__ is scalar and item.value in NULL and not item.style:
                what = "an item of this list says nothing"
                self.faults.add("no-value", self.at(item), what, "leave it out")
        out = Items([self._build(item, depth + 1) for item in node.value])
        out.at = at
        return out

    def _mapping(self, node: yaml.MappingNode, at: Place, depth: int) -> Mapping:
        out, scalar = Mapping(), self.scalar
        for word, value in node.value:
            if word.__class__ is not scalar:
                self.faults.add(
                    "key-not-a-word",
                    self.at(word),
                    "a key is one word or a few, not a list",
                    "see the form in kb/README.md",
                )
                continue
            key = self.text(word, self.at(word))
            if key == "<<":
                self.faults.add(
                    "merge-key",
                    key.at,
                    "<< merges mappings, and that is not read here",
                    "write the lines out",
                )
            plain = value.__class__ is scalar and not value.style
            if plain and value.value in NULL:
                self.no_value(key, word.end_mark)
                continue
            if key in out:
                first = next(place_of(known) for known in out if known == key)
                self.faults.add(
                    "written-twice",
                    key.at,
                    f'"{key}" is written twice (first at line {first[1]})',
                    "keep one of them",
                )
                continue
            out[key] = self._build(value, depth + 1)
            if plain and value.end_mark.line in self.comments:
                self.cut_short(key, value)
        out.at = at
        return out

    def no_value(self, key: Text, end: yaml.Mark) -> None:
        """Tell a key without a value; what was meant for one may stand there as a comment."""
        rest = self.lines[end.line][end.column :] if end.line < len(self.lines) else ""
        comment = re.match(r"\s*:?\s+(#\S+)", rest)
        if comment:
            todo = f'what follows # is a comment: put "{comment[1]}" in quotes'
        else:
            todo = (
                "leave the line out if it is not known; a comma inside { } ends the line, so put a"
                " sentence or a citation with a comma in quotes"
            )
        self.faults.add("no-value", key.at, f'"{key}" has no value', todo)

    def cut_short(self, key: str, node: yaml.ScalarNode) -> None:
        """Tell a value that ends where somebody may not have meant it to: "Ordinance #7" is
        "Ordinance" and a comment.
        """
        mark, sentence = node.end_mark, key in SENTENCES
        rest = self.lines[mark.line][mark.column :]
        comment = re.match(r"\s+(#.*)" if sentence else r"\s+(#[^\s#].*)", rest)
        if comment:
            todo = "put the value in quotes"
            self.faults.add(
                "comment",
                Place(self.name, mark.line + 1, mark.column + comment.start(1) + 1),
                f'what follows # is a comment: "{key}" is read as "{node.value}"',
                todo if sentence else f"{todo}, or a space after the # of a comment",
            )


Lines: TypeAlias = list[tuple[int, list[str]]]  # (line number, cells)


def read_csv(text: str, name: str) -> tuple[list[str], Lines]:
    """Header and (line number, cells) of a CSV file.

    Raises:
        Fault: it is no table, or its rows and its header do not fit.
    """
    text = straight(text if text.isascii() else re.sub(_NOTHING, "", re.sub(_SPACES, " ", text)))
    rows = _csv_lines(text, name)
    header = _header(rows, name)
    out = []
    for number, cells in rows[1:]:
        if len(cells) != len(header):
            raise Fault(
                "ragged-row",
                Place(name, number, 1),
                f"this row has {len(cells)} cells and the header {len(header)}",
                "a row has one cell for each column",
            )
        out.append((number, [cell.strip() for cell in cells]))
    return header, out


def _csv_lines(text: str, name: str) -> Lines:
    """The lines of a CSV file that say anything."""
    import csv

    unseen = re.search(UNSEEN, text)
    if unseen:
        start = unseen.start()
        line = text.count("\n", 0, start) + 1
        raise Fault(
            "unseen-character",
            Place(name, line, start - text.rfind("\n", 0, start)),
            f"a character that cannot be seen stands here (U+{ord(unseen[0]):04X})",
            "delete it",
        )
    try:
        lines = list(enumerate(csv.reader(io.StringIO(text)), 1))
    except csv.Error as error:
        raise Fault(
            "not-csv", Place(name), f"this is no table: {error}", "is this the right file?"
        ) from None
    return [(n, cells) for n, cells in lines if cells and not cells[0].startswith("#")]


def _header(rows: Lines, name: str) -> list[str]:
    """The names of the columns."""
    if not rows:
        raise Fault(
            "empty-table",
            Place(name),
            "this table has no header line",
            "its first line names the columns",
        )
    number, header = rows[0][0], [cell.strip() for cell in rows[0][1]]
    if len(header) == 1:
        for mark, called in ((";", "semicolons"), ("\t", "tabs"), ("|", "bars")):
            if mark in header[0]:
                raise Fault(
                    "not-csv",
                    Place(name, number, header[0].index(mark) + 1),
                    f"the cells of this table are parted by {called}",
                    "part them by commas",
                )
    seen: set[str] = set()
    for head in header:
        if head in seen:
            raise Fault(
                "written-twice",
                Place(name, number),
                f'two columns are headed "{head}"',
                "keep one of them",
            )
        seen.add(head)
    return header

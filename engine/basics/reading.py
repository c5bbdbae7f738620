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
from itertools import count, islice
from pathlib import Path

from .errors import Collector, Fault, Place
from .limits import DEPTH, FILE_BYTES, NAME, PIECES

# no text; turns a terminal or a line round
UNSEEN = "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\u202a-\u202e\u2066-\u2069\ufffe\uffff]"
_BREAK = "\r\n?|[\n\x85\u2028\u2029]"
_SPACES = "[\u00a0\u1680\u2000-\u200a\u202f\u205f\u3000]"
_NOTHING = "[\u00ad\u200b-\u200f\u2060\ufeff]"
_PLAIN = str.maketrans("‘’‚“”„‐‑‒–−", 3 * "'" + 3 * '"' + 5 * "-")
NULL = frozenset(("", "~", "null", "Null", "NULL"))  # nothing, and the ways other programs write it
LOOK_AFTER = 16  # readings
_READINGS = count(1)
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

    def __new__(cls, value: str, at: Place = Place(), quoted: bool = False) -> "Text":
        self = str.__new__(cls, value)
        self.at, self.quoted = at, quoted
        return self

    def __reduce__(self):
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

    odd = next(
        (
            c
            for c in unicodedata.normalize("NFC", name)
            if not unicodedata.normalize("NFD", c)[0].isascii()
        ),
        None,
    )
    return (
        f'"{odd}" in it is {unicodedata.name(odd, "no letter")}, which is easily taken for another'
        if odd
        else (
            ""
            if name == unicodedata.normalize("NFC", name)
            else "an accent in it stands apart from its letter"
        )
    )


def digest(text: str, length: int = 16) -> str:
    """A digest of *text*."""
    # a start from the cache needs none, and it takes longer to import than the cache to read
    import hashlib

    return hashlib.sha256(text.encode()).hexdigest()[:length]


@contextlib.contextmanager
def all_kept():
    """While knowledge is read much is made and nothing let go: looking for garbage all along takes
    a third of the time.

    What was made counts as old afterwards, without a look at each of it; every so many times all of
    it is looked at.
    """
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            if next(_READINGS) % LOOK_AFTER:
                gc.freeze()
                gc.unfreeze()
            else:
                gc.collect()
            gc.enable()


class Items(list):
    """A YAML list and its place."""

    at = Place()


class Mapping(dict):
    """A YAML mapping and its place; its keys are Text."""

    at = Place()
    # of a rule, a table or a value that edits changed: how those are cited, the first edit first
    through = ""
    # of one that is carried into another law: the edition by which it is read; else there is none
    edition: str


def place_of(v, fallback: Place = Place()) -> Place:
    """Where *v* stands, or *fallback* for text of our own making."""
    return getattr(v, "at", fallback)


def read_bytes(path: Path, name: str) -> bytes:
    """The bytes of a file a person named; a Fault for what cannot be one."""
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
    except (OSError, ValueError) as e:
        raise Fault(
            "not-readable", at, f"this file cannot be read: {e}", "is the name right?"
        ) from None


def _beside(path: Path) -> str:
    from .errors import suggest

    try:
        names = [p.name for p in path.parent.iterdir() if p.suffix == (path.suffix or ".yaml")]
    except OSError:
        names = []
    return suggest(path.name, names, 8) if names else "is the name right?"


def decode(data: bytes, name: str) -> str:
    """UTF-8 text, or a Fault that says how to save it so."""
    at = Place(name)
    if data[:4] in (b"\xff\xfe\0\0", b"\0\0\xfe\xff"):
        raise Fault("not-utf-8", at, "this file is saved as UTF-32", "save it again as UTF-8")
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise Fault("not-utf-8", at, "this file is saved as UTF-16", "save it again as UTF-8")
    if b"\0" in data:
        office = data[:4] == b"PK\3\4"
        raise Fault(
            "not-text",
            at,
            "this is a word-processor file or an archive" if office else "this file is not text",
            (
                "save it as plain text, UTF-8"
                if office
                else "is this the right file? if it is, save it as UTF-8"
            ),
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as e:
        line = data[: e.start].count(b"\n") + 1
        raise Fault(
            "not-utf-8",
            Place(name, line, 1),
            "this line holds bytes that are not UTF-8",
            "save the file again as UTF-8",
        ) from None
    return text


def pieces(v) -> int:
    """How many pieces *v* is made of."""
    return 1 + (
        sum(pieces(x) for x in v.values())
        if isinstance(v, dict)
        else sum(map(pieces, v))
        if isinstance(v, list)
        else 0
    )


def read_yaml(text: str, name: str):
    """What *text* says, with a place on every piece. Raises Fault or Faults."""
    import yaml

    loader = _loader()
    if not text.isascii():
        text = re.sub(_SPACES, " ", text)
    lines = text.split("\n") if text.isascii() and "\r" not in text else re.split(_BREAK, text)
    for n, line in enumerate(lines, 1) if "\t" in text or re.search(UNSEEN, text) else ():
        bare = line[: len(line) - len(line.lstrip())]
        if "\t" in bare:
            raise Fault(
                "tab",
                Place(name, n, bare.index("\t") + 1),
                "a tab stands at the start of this line",
                "use spaces",
            )
        if m := re.search(UNSEEN, line):
            raise Fault(
                "unseen-character",
                Place(name, n, m.start() + 1),
                f"a character that cannot be seen stands here (U+{ord(m[0]):04X})",
                "delete it",
            )
    try:
        if (
            len(text) > 50_000
            and sum(1 for _ in islice(yaml.parse(text, Loader=loader), 3 * PIECES)) == 3 * PIECES
        ):
            raise Fault(
                "too-many-pieces",
                Place(name),
                f"this file holds more than {PIECES:,} pieces",
                "divide it",
            )
        node = yaml.compose(text, Loader=loader)
    except yaml.MarkedYAMLError as e:
        mark = e.problem_mark or e.context_mark
        raise Fault(
            *_yaml_fault(
                e, lines, Place(name, mark.line + 1, mark.column + 1) if mark else Place(name)
            )
        ) from None
    except yaml.YAMLError as e:
        raise Fault(
            "not-yaml",
            Place(name),
            "this file holds characters that YAML does not allow",
            f"save it as plain UTF-8 text ({str(e).splitlines()[0]})",
        ) from None
    except RecursionError:
        raise Fault(
            "too-deep",
            Place(name),
            f"lists stand more than {DEPTH} deep in this file",
            "is this the right file?",
        ) from None
    if node is None:
        raise Fault(
            "empty-file",
            Place(name),
            "this file says nothing",
            "see the shipped jobs for the form, or kb/README.md for a pack",
        )
    return _Builder(yaml, name, lines).build(node, 0)


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
    for t in yaml.scan(re.sub(_SPACES, " ", text), Loader=_loader()):
        begin, end = t.start_mark, t.end_mark
        if not isinstance(t, yaml.ScalarToken) or begin.line == end.line:
            continue
        first = line + text.count("\n", at, begin.index)
        last = first + text.count("\n", begin.index, end.index) - (end.column == 0)
        if t.style in ("|", ">") and not re.match(r".\d?\+", text[begin.index : begin.index + 3]):
            margin = min(
                (len(x) - len(x.lstrip()) for x in lines[first + 1 : last + 1] if x.strip()),
                default=len(text),
            )
            while last > first and len(lines[last]) <= margin and not lines[last].strip():
                last -= 1
        out.append((first, last, t.style or ""))
        line, at = first, begin.index
    return out


@functools.cache
def _loader():
    import yaml

    class Loader(getattr(yaml, "CSafeLoader", yaml.SafeLoader)):
        """Guesses no types: scalars stay text, and to try every pattern on each takes as long as to
        parse it.
        """

        def resolve(self, kind, value, implicit):
            return "tag:yaml.org,2002:str"

        def descend_resolver(self, current_node, current_index):
            pass

        def ascend_resolver(self):
            pass

    return Loader


def _yaml_fault(e, lines: list[str], at: Place) -> tuple:
    problem = (e.problem or "").lower()
    line = lines[at[1] - 1] if at[1] <= len(lines) else ""
    opened = getattr(e, "context_mark", None)
    first = opened.line if opened and opened.line < at[1] else at[1] - 1
    flow = next((w for w in ("mapping", "sequence") if f"flow {w}" in (e.context or "")), None)
    if (flow or "expected node content" in problem) and (
        hash_at := next(
            (
                (n, m.start(1))
                for n in range(first, min(at[1], len(lines)))
                if (m := re.search(r"[ {\[,](#[^ ].*)", lines[n]))
            ),
            None,
        )
    ):
        return (
            "comment",
            Place(at[0], hash_at[0] + 1, hash_at[1] + 1),
            "what follows # is a comment and is not read, a bracket that closes least of all",
            "put the value in quotes, or the comment on a line of its own",
        )
    if "mapping values are not allowed" in problem:
        above = next(
            (
                n
                for n in range(at[1] - 2, -1, -1)
                if lines[n].strip() and not lines[n].lstrip().startswith("#")
            ),
            None,
        )
        begins = len(lines[above]) - len(lines[above].lstrip(" -")) if above is not None else 0
        before = (
            next(
                (
                    n
                    for n in range(above - 1, -1, -1)
                    if lines[n].strip() and not lines[n].lstrip().startswith("#")
                ),
                None,
            )
            if above is not None
            else None
        )
        # no further line of a sentence
        alone = (
            before is None
            or lines[before].rstrip().endswith(":")
            or len(lines[before]) - len(lines[before].lstrip(" -")) == begins
        )
        if (
            above is not None
            and ":" not in line[: at[2] - 1]
            and (
                begins >= len(line) - len(line.lstrip())
                or alone
                and not re.search(r":(\s|$)", lines[above])
            )
        ):
            return (
                "no-colon",
                Place(at[0], above + 1, begins + 1),
                "this line has no colon followed by a space",
                "write a key, a colon, a space and a value",
            )
        if above is not None and (m := re.match(r"\s*([–—•·*])\s", lines[above])):
            return (
                "no-dash",
                Place(at[0], above + 1, m.start(1) + 1),
                f'"{m[1]}" begins no item of a list',
                f"write a plain hyphen and a space: - {lines[above][m.end() :].split(':')[0]}:",
            )
        if above is not None and (m := re.match(r"\s*-(?=[^\s-])", lines[above])):
            return (
                "no-space",
                Place(at[0], above + 1, m.end()),
                "no space stands after this dash",
                f"write - {lines[above][m.end() :].split(':')[0]}:",
            )
        if above is not None and ":" not in line[: at[2] - 1]:
            return (
                "indentation",
                Place(at[0], at[1], len(line) - len(line.lstrip()) + 1),
                "this line stands further in than the one above, which has its value already",
                "begin both lines in one column, or put a sentence that goes on in quotes",
            )
        return (
            "colon-in-sentence",
            at,
            "a colon followed by a space stands inside a sentence",
            "put the sentence in quotes",
        )
    if "nesting depth" in problem:
        return "too-deep", at, f"lists stand more than {DEPTH} deep here", "is this the right file?"
    if flow and "did not find expected" in problem:
        mark = "{" if flow == "mapping" else "["
        if line[at[2] - 1 : at[2]] == ":" and (
            opened.line == at[1] - 1 or ":" in line[: at[2] - 1]
        ):
            return (
                "colon-in-sentence",
                at,
                "a colon followed by a space stands inside a value",
                "put the value in quotes",
            )
        return (
            "not-closed",
            Place(at[0], opened.line + 1, opened.column + 1),
            (
                f'the "{mark}" here is not closed, or a comma is missing after it (noticed at line'
                f" {at[1]})"
            ),
            'close it with "}"' if mark == "{" else 'close it with "]"',
        )
    if "quoted scalar" in (e.context or ""):
        return (
            "not-closed",
            Place(at[0], opened.line + 1, opened.column + 1),
            "the quotation mark here is not closed",
            "close it; inside it write the other kind of quotation mark",
        )
    if "comment or line break" in problem and opened:
        return (
            "bad-character",
            Place(at[0], opened.line + 1, opened.column + 1),
            (
                f'"{lines[opened.line][opened.column : opened.column + 1]}" begins a block of text,'
                " and a value stands behind it"
            ),
            "put the value in quotes",
        )
    behind = next(
        (
            m
            for n in range(first, min(at[1], len(lines)))
            for m in [re.search(r"""(?<=:|-)\s+("[^"]*"|'[^']*')\s+\S""", lines[n])]
            if m
        ),
        None,
    )
    if behind and "did not find expected" in problem:
        n = next(n for n in range(first, at[1]) if behind.string is lines[n])
        return (
            "words-after-a-quote",
            Place(at[0], n + 1, behind.start(1) + 1),
            f"the value ends where {behind[1]} does, and more stands behind it",
            "put the whole value in quotes, and the other kind of quotation mark inside",
        )
    if "mapping keys are not allowed" in problem or "block sequence entries" in problem:
        return (
            "bad-character",
            at,
            f'"{line[at[2] - 1 : at[2]]}" cannot stand here',
            "put the value in quotes, or leave the line out if it is not known",
        )
    if m := re.match(r"\s*([\w' -]+):[\[{\"']", line):
        return (
            "no-space",
            Place(at[0], at[1], m.end(1) + 1),
            "no space stands after this colon",
            f"write {m[1].strip()}: and then the value",
        )
    if "alias" in problem or "undefined alias" in problem:
        return "unknown-alias", at, "a name after * was never given with &", "write the value out"
    if "found character that cannot start any token" in problem:
        return (
            "bad-character",
            at,
            f'"{line[at[2] - 1 : at[2]]}" cannot begin a value',
            "put the value in quotes",
        )
    if "could not find expected ':'" in problem and opened:
        if lines[opened.line].startswith(("<<<<<<<", "=======", ">>>>>>>")):
            return (
                "two-versions",
                Place(at[0], opened.line + 1),
                "two versions of this file were put together here, and nobody has chosen",
                "keep one of the two, and delete the lines of signs",
            )
        return (
            "no-colon",
            Place(at[0], opened.line + 1, opened.column + 1),
            "this line has no colon followed by a space",
            "write a key, a colon, a space and a value",
        )
    if "expected '-' indicator" in problem:
        return (
            "indentation",
            Place(at[0], at[1], len(line) - len(line.lstrip()) + 1),
            "this line stands further out than the item of the list that it belongs to",
            "begin it under the first word of the item, or with a dash where a new item begins",
        )
    if "document" in problem:
        return (
            "two-documents",
            at,
            "a second document begins here (---)",
            "keep one document to a file",
        )
    return (
        "not-yaml",
        at,
        f"this is not YAML: {e.problem or e}",
        "compare the indentation and the brackets with the lines above",
    )


class _Builder:
    def __init__(self, yaml, name: str, lines: list[str]) -> None:
        self.scalar, self.sequence, self.name, self.lines, self.left, self.faults = (
            yaml.ScalarNode,
            yaml.SequenceNode,
            name,
            lines,
            PIECES,
            Collector(),
        )
        self.comments = {n for n, line in enumerate(lines) if "#" in line}
        self.tags = any("!" in line for line in lines)

    def text(self, node, at: Place) -> Text:
        """What a scalar says, with the spaces of a word processor made plain."""
        value = node.value
        if not value.isascii():
            value = re.sub(_NOTHING, "", value)
            value = value.strip() if not node.style else value
        if node.style == '"' and (m := re.search(UNSEEN, value)):  # written as an escape
            self.faults.add(
                "unseen-character",
                at,
                f"a character that cannot be seen is in this text (U+{ord(m[0]):04X})",
                "delete it",
            )
        out = str.__new__(Text, value)  # past Text.__new__, as above
        out.at, out.quoted = at, bool(node.style)
        return out

    def tag(self, node, at: Place) -> str:
        """The tag a person wrote on *node*, if any."""
        if at[1] <= len(self.lines) and self.lines[at[1] - 1].startswith("!", at[2] - 1):
            return self.lines[at[1] - 1][at[2] - 1 :].split()[0]
        return node.tag if node.tag.startswith("!") else ""

    def at(self, node) -> Place:
        mark = node.start_mark
        # past Place.__new__: this is done for every piece
        return tuple.__new__(Place, (self.name, mark.line + 1, mark.column + 1))

    def build(self, node, depth: int):
        v = self._build(node, depth)
        if depth == 0:
            self.faults.stop()
        return v

    def _build(self, node, depth: int):
        at, scalar = self.at(node), self.scalar
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
        if self.tags and (tag := self.tag(node, at)):
            self.faults.add(
                "tag", at, f'"{tag}" is a tag, and tags mean nothing here', "leave it out"
            )
        if node.__class__ is scalar:
            return self.text(node, at)
        if node.__class__ is self.sequence:
            for n in node.value:
                if n.__class__ is scalar and n.value in NULL and not n.style:
                    self.faults.add(
                        "no-value", self.at(n), "an item of this list says nothing", "leave it out"
                    )
            out = Items([self._build(n, depth + 1) for n in node.value])
        else:
            out = Mapping()
            for k, v in node.value:
                if k.__class__ is not scalar:
                    self.faults.add(
                        "key-not-a-word",
                        self.at(k),
                        "a key is one word or a few, not a list",
                        "see the form in kb/README.md",
                    )
                    continue
                key = self.text(k, self.at(k))
                if key == "<<":
                    self.faults.add(
                        "merge-key",
                        key.at,
                        "<< merges mappings, and that is not read here",
                        "write the lines out",
                    )
                plain = v.__class__ is scalar and not v.style
                if plain and v.value in NULL:
                    comment = (
                        re.match(
                            r"\s*:?\s+(#\S+)", self.lines[k.end_mark.line][k.end_mark.column :]
                        )
                        if k.end_mark.line < len(self.lines)
                        else None
                    )
                    self.faults.add(
                        "no-value",
                        key.at,
                        f'"{key}" has no value',
                        (
                            f'what follows # is a comment: put "{comment[1]}" in quotes'
                            if comment
                            else (
                                "leave the line out if it is not known; a comma inside { } ends the"
                                " line, so put a sentence or a citation with a comma in quotes"
                            )
                        ),
                    )
                    continue
                if key in out:
                    first = next(x for x in out if x == key)
                    self.faults.add(
                        "written-twice",
                        key.at,
                        f'"{key}" is written twice (first at line {first.at[1]})',
                        "keep one of them",
                    )
                    continue
                out[key] = self._build(v, depth + 1)
                if plain and v.end_mark.line in self.comments:
                    self.cut_short(key, v)
        out.at = at
        return out

    def cut_short(self, key: str, node) -> None:
        """Tell a value that ends where somebody may not have meant it to: "Ordinance #7" is
        "Ordinance" and a comment.
        """
        mark, line = node.end_mark, self.lines[node.end_mark.line]
        if m := re.match(
            r"\s+(#.*)" if key in SENTENCES else r"\s+(#[^\s#].*)", line[mark.column :]
        ):
            self.faults.add(
                "comment",
                Place(self.name, mark.line + 1, mark.column + m.start(1) + 1),
                f'what follows # is a comment: "{key}" is read as "{node.value}"',
                (
                    "put the value in quotes"
                    if key in SENTENCES
                    else "put the value in quotes, or a space after the # of a comment"
                ),
            )


def read_csv(text: str, name: str) -> tuple[list[str], list[tuple[int, list[str]]]]:
    """Header and (line number, cells) of a CSV file."""
    import csv

    text = straight(text if text.isascii() else re.sub(_NOTHING, "", re.sub(_SPACES, " ", text)))
    if m := re.search(UNSEEN, text):
        raise Fault(
            "unseen-character",
            Place(
                name, text.count("\n", 0, m.start()) + 1, m.start() - text.rfind("\n", 0, m.start())
            ),
            f"a character that cannot be seen stands here (U+{ord(m[0]):04X})",
            "delete it",
        )
    try:
        rows = [
            (n, r)
            for n, r in enumerate(csv.reader(io.StringIO(text)), 1)
            if r and not r[0].startswith("#")
        ]
    except csv.Error as e:
        raise Fault(
            "not-csv", Place(name), f"this is no table: {e}", "is this the right file?"
        ) from None
    if not rows:
        raise Fault(
            "empty-table",
            Place(name),
            "this table has no header line",
            "its first line names the columns",
        )
    header = [h.strip() for h in rows[0][1]]
    if len(header) == 1 and (mark := next((m for m in ";\t|" if m in header[0]), None)):
        raise Fault(
            "not-csv",
            Place(name, rows[0][0], header[0].index(mark) + 1),
            "the cells of this table are parted by "
            + {";": "semicolons", "\t": "tabs", "|": "bars"}[mark],
            "part them by commas",
        )
    seen: set[str] = set()
    for h in header:
        if h in seen:
            raise Fault(
                "written-twice",
                Place(name, rows[0][0]),
                f'two columns are headed "{h}"',
                "keep one of them",
            )
        seen.add(h)
    out = []
    for n, r in rows[1:]:
        if len(r) != len(header):
            raise Fault(
                "ragged-row",
                Place(name, n, 1),
                f"this row has {len(r)} cells and the header {len(header)}",
                "a row has one cell for each column",
            )
        out.append((n, [c.strip() for c in r]))
    return header, out

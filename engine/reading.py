"""Read YAML and CSV and keep, for every piece of text, where it stands. The only module that knows yaml.

Scalars stay text (`210.10` is a section, `014` no number): the vocabulary types them. Tags, merges and code do not
exist here: libyaml composes nodes, and these few lines turn them into text, lists and mappings.
"""

from __future__ import annotations

import csv
import io
from pathlib import Path

from .errors import Fault, Faults, Place

LARGEST = 4_000_000      # bytes of one file; the biggest honest job is a hundredth of it
MOST_NODES = 250_000     # pieces of one file once its aliases are written out
DEEPEST = 40             # lists within lists


class Text(str):
    """A piece of text and the place it stands at."""

    __slots__ = ("at", "quoted")

    def __new__(cls, value: str, at: Place = Place(), quoted: bool = False) -> "Text":
        self = super().__new__(cls, value)
        self.at, self.quoted = at, quoted
        return self

    def __reduce__(self):
        return Text, (str(self), self.at, self.quoted)


class Items(list):
    """A YAML list and its place."""

    at = Place()


class Mapping(dict):
    """A YAML mapping and its place; its keys are Text."""

    at = Place()


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
            raise Fault("not-a-file", at, "this is not a file but a device or a pipe", "name a file")
        size = path.stat().st_size
        if size > LARGEST:
            raise Fault("file-too-large", at, f"{size:,} bytes is more than the {LARGEST:,} that are read", "is this the right file?")
        return path.read_bytes()
    except FileNotFoundError:
        raise Fault("no-such-file", at, "there is no such file", _beside(path)) from None
    except PermissionError:
        raise Fault("not-readable", at, "this file may not be read", "ask its owner for leave to read it") from None
    except (OSError, ValueError) as e:
        raise Fault("not-readable", at, f"this file cannot be read: {e}", "is the name right?") from None


def _beside(path: Path) -> str:
    from .errors import suggest

    try:
        names = [p.name for p in path.parent.iterdir() if p.suffix == ".yaml"]
    except OSError:
        names = []
    return suggest(path.name, names, 8) if names else "is the name right?"


def decode(data: bytes, name: str) -> str:
    """UTF-8 text, or a Fault that says how to save it so."""
    at = Place(name)
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise Fault("not-utf-8", at, "this file is saved as UTF-16", "save it again as UTF-8")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as e:
        line = data[: e.start].count(b"\n") + 1
        raise Fault("not-utf-8", Place(name, line, 1), "this line holds bytes that are not UTF-8", "save the file again as UTF-8") from None
    if "\x00" in text:
        raise Fault("not-text", at, "this file is not text", "is this the right file?")
    return text


def read_yaml(text: str, name: str):
    """What *text* says, with a place on every piece. Raises Fault or Faults."""
    import yaml

    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    for n, line in enumerate(text.split("\n"), 1):
        bare = line[: len(line) - len(line.lstrip())]
        if "\t" in bare:
            raise Fault("tab", Place(name, n, bare.index("\t") + 1), "a tab stands at the start of this line", "use spaces")
    try:
        node = yaml.compose(text, Loader=loader)
    except yaml.MarkedYAMLError as e:
        mark = e.problem_mark or e.context_mark
        raise Fault(*_yaml_fault(e, text, Place(name, mark.line + 1, mark.column + 1) if mark else Place(name))) from None
    except yaml.YAMLError as e:
        raise Fault("not-yaml", Place(name), "this file holds characters that YAML does not allow",
                    f"save it as plain UTF-8 text ({str(e).splitlines()[0]})") from None
    except RecursionError:
        raise Fault("too-deep", Place(name), f"lists stand more than {DEEPEST} deep in this file", "is this the right file?") from None
    if node is None:
        raise Fault("empty-file", Place(name), "this file says nothing", "see the shipped jobs for the form")
    return _Builder(yaml, name).build(node, 0)


def _yaml_fault(e, text: str, at: Place) -> tuple:
    problem = (e.problem or "").lower()
    lines = text.split("\n")
    line = lines[at[1] - 1] if at[1] <= len(lines) else ""
    if "mapping values are not allowed" in problem:
        return "colon-in-sentence", at, "a colon followed by a space stands inside a sentence", "put the sentence in quotes"
    if "alias" in problem or "undefined alias" in problem:
        return "unknown-alias", at, "a name after * was never given with &", "write the value out"
    if "found character that cannot start any token" in problem:
        return "bad-character", at, f'"{line[at[2] - 1:at[2]]}" cannot begin a value', "put the value in quotes"
    if "document" in problem:
        return "two-documents", at, "a second document begins here (---)", "keep one document to a file"
    return "not-yaml", at, f"this is not YAML: {e.problem or e}", "compare the indentation and the brackets with the lines above"


class _Builder:
    def __init__(self, yaml, name: str) -> None:
        self.yaml, self.name, self.left, self.faults = yaml, name, MOST_NODES, []

    def at(self, node) -> Place:
        return Place(self.name, node.start_mark.line + 1, node.start_mark.column + 1)

    def build(self, node, depth: int):
        v = self._build(node, depth)
        if depth == 0 and self.faults:
            raise Faults(self.faults)
        return v

    def _build(self, node, depth: int):
        yaml, at = self.yaml, self.at(node)
        self.left -= 1
        if self.left < 0:
            raise Fault("too-many-pieces", Place(self.name), f"this file holds more than {MOST_NODES:,} pieces once its aliases are written out", "write it without aliases, or divide it")
        if depth > DEEPEST:
            raise Fault("too-deep", at, f"lists stand more than {DEEPEST} deep here", "is this the right file?")
        if node.tag.startswith("!") or (node.tag.startswith("tag:yaml.org,2002:python")):
            self.faults.append(Fault("tag", at, f'"{node.tag}" is a tag, and tags mean nothing here', "leave it out"))
        if isinstance(node, yaml.ScalarNode):
            return Text(node.value, at, bool(node.style))
        if isinstance(node, yaml.SequenceNode):
            out = Items(self._build(n, depth + 1) for n in node.value)
        else:
            out = Mapping()
            for k, v in node.value:
                if not isinstance(k, yaml.ScalarNode):
                    self.faults.append(Fault("key-not-a-word", self.at(k), "a key is one word or a few, not a list", "see the form in kb/README.md"))
                    continue
                key = Text(k.value, self.at(k))
                if k.value == "<<":
                    self.faults.append(Fault("merge-key", key.at, "<< merges mappings, and that is not read here", "write the lines out"))
                if isinstance(v, yaml.ScalarNode) and v.value == "" and not v.style:
                    self.faults.append(Fault("no-value", key.at, f'"{key}" has no value', 'leave the line out if it is not known; a comma inside { } ends the line, so put a sentence or a citation with a comma in quotes'))
                    continue
                if key in out:
                    first = next(x for x in out if x == key)
                    self.faults.append(Fault("written-twice", key.at, f'"{key}" is written twice (first at line {first.at[1]})', "keep one of them"))
                    continue
                out[key] = self._build(v, depth + 1)
        out.at = at
        return out


def read_csv(text: str, name: str) -> tuple[list[str], list[tuple[int, list[str]]]]:
    """Header and (line number, cells) of a CSV file."""
    rows = [(n, r) for n, r in enumerate(csv.reader(io.StringIO(text)), 1) if r and not r[0].startswith("#")]
    if not rows:
        raise Fault("empty-table", Place(name), "this table has no header line", "its first line names the columns")
    header = [h.strip() for h in rows[0][1]]
    out = []
    for n, r in rows[1:]:
        if len(r) != len(header):
            raise Fault("ragged-row", Place(name, n, 1), f"this row has {len(r)} cells and the header {len(header)}", "a row has one cell for each column")
        out.append((n, [c.strip() for c in r]))
    return header, out

"""What people write in forms of their own: a thing by its values alone (`breaker: 40 A`), several
facts in one word (`12/2 with ground`), a fact told at the thing beside the one it belongs to.

The vocabulary says which facts are said without their names (`said alone`), which forms people use
(`forms`), and what may be told elsewhere (`tells`). Here such writing is put in the place where a
job tells the same in full; a job's own mapping is never changed.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any, NamedTuple, TypeAlias

from ..basics.errors import HINTS, Collector, Fault, Place, or_list, suggest
from ..basics.reading import Items, Mapping, Text, place_of, straight
from ..basics.units import parse_quantity
from ..language.knowledge import Knowledge
from ..language.words import Form, Kind, Word, path_of

Path: TypeAlias = tuple[str, ...]  # root first: (part, fact), or (whole, part, fact)
# the facts of a thing as a person wrote them: name -> (key, value)
Said: TypeAlias = dict[str, tuple[Any, Any]]

# words that join values and say nothing by themselves
JOINING = {"a", "an", "and", "at", "each", "in", "is", "of", "on", "the", "with"}
TURNING = {"no", "non", "not", "without", "w/o", "never", "minus", "except", "or"}
LONGEST = 80  # characters of a value that somebody wrote
UNREAD = ("unknown", "not known", "?", "unsure", "none")


class ReadAs(NamedTuple):
    """One piece of a person's own writing, and what it was read as."""

    of: str
    fact: str
    text: str
    at: Place
    told: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        return {
            "of": self.of,
            "is": self.fact,
            "text": self.text,
            "at": str(self.at),
            "told": list(self.told),
        }


class New(NamedTuple):
    """A thing of one of the job's lists that is described at another thing."""

    part: str
    name: str


class Reading:
    """The facts that a text says, and the words of it that say nothing known."""

    def __init__(self) -> None:
        self.told: dict[Path, str] = {}
        self.left: list[str] = []

    @property
    def own(self) -> dict[str, str]:
        """What it says of the thing itself."""
        return {path[0]: value for path, value in self.told.items() if len(path) == 1}

    @property
    def others(self) -> dict[Path, str]:
        """What it says of other things."""
        return {path: value for path, value in self.told.items() if len(path) > 1}


class Alone:
    """Reads what one kind of thing is told by its values alone."""

    def __init__(self, knowledge: Knowledge, value_of: Callable[[Word, str], str | None]) -> None:
        self.words, self.value_of = knowledge.words, value_of
        self.stumbled = ""  # over which word the last reading ended

    def read(self, kind: Kind, text: str) -> Reading | None:
        """What *text* says of a thing of that kind; None where it cannot be read as a whole.

        Words of no meaning here are left over and kept; never a number, a misspelling, or what
        turns a meaning round.
        """
        self.stumbled = ""
        if not (kind.said_alone or kind.forms) or len(text) > LONGEST:
            return None
        tokens = re.sub(r"[,;]", " ", straight(text)).split()
        reading = Reading()
        while tokens:
            length = self._piece(kind, tokens, reading)
            if not length:
                # to keep half of what was said and drop a number would be to misread it: then none
                # of it is read
                if not self._may_be_left(kind, tokens[0]):
                    self.stumbled = tokens[0]
                    return None
                reading.left.append(tokens[0])
            tokens = tokens[length or 1 :]
        reading.left = [word for word in reading.left if word.lower() not in JOINING]
        return reading if reading.told else None

    def _piece(self, kind: Kind, tokens: list[str], reading: Reading) -> int:
        """Take the longest piece at the head of *tokens* that says something; how many it has."""
        # the longest first: `12/2 with ground` is one word of the trade, and `12/2` another
        for length in range(min(len(tokens), 6), 0, -1):
            said = self._said_by(kind, " ".join(tokens[:length]), reading)
            if said is not None:
                reading.told.update(said)
                return length
        return self._names_the_thing(kind, tokens)

    def _said_by(self, kind: Kind, piece: str, reading: Reading) -> dict[Path, str] | None:
        for path, word in self._alone(kind):
            if path not in reading.told:
                value = self.value_of(word, self._with_unit(kind, word, piece))
                if value is not None:
                    return {path: value}
        for form in kind.forms:
            found = re.fullmatch(form.pattern, piece, re.IGNORECASE)
            told = None if found is None else self._by_form(kind, form, found.groups())
            if told is not None and not any(path in reading.told for path in told):
                if not told:  # a form that says nothing any rule reads
                    reading.left.append(piece)
                return told
        return self._is_so(kind, piece, reading)

    @staticmethod
    def _is_so(kind: Kind, piece: str, reading: Reading) -> dict[Path, str] | None:
        """The yes or no that a word says by its name alone: stranded, duplex."""
        word = kind.words.get(kind.folded.get(piece.lower(), ""))
        if word is None or word.type[0] != "flag" or not word.ask:
            return None
        # a fact that only rules give (it has no question) is none that a word of a person tells
        return None if (word.name,) in reading.told else {(word.name,): "yes"}

    def _alone(self, kind: Kind) -> Iterator[tuple[Path, Word]]:
        """The facts that are said of a thing without their names."""
        for fact in kind.said_alone:
            path = path_of(fact)
            word = self.words.at_the_end(kind, path)
            if word is not None:
                yield path, word

    @staticmethod
    def _with_unit(kind: Kind, word: Word, piece: str) -> str:
        """A number alone with its unit, where it can be that fact only: of a breaker 40 is its
        rating, of a load 48 may be anything.
        """
        bare = word.bare
        alone = bare and word.name == kind.said_alone[0] and re.fullmatch(r"\d+(\.\d+)?", piece)
        return f"{piece} {bare}" if alone else piece

    def _by_form(self, kind: Kind, form: Form, said: tuple[str, ...]) -> dict[Path, str] | None:
        """What a form says with so much *said* in it; None where that is no value of its facts."""
        told: dict[Path, str] = {**form.tells}
        for path, text in zip(form.named, said):
            word = self.words.at_the_end(kind, path)
            value = None if word is None else self.value_of(word, text)
            if value is None:
                return None
            told[path] = value
        return told

    def unclear(self, kind: Kind, text: str) -> tuple[Word, str] | None:
        """The fact, and the piece of *text*, that may be any of several of its choices."""
        tokens = re.sub(r"[,;]", " ", straight(text[:LONGEST])).split()
        for length in range(len(tokens), 0, -1):
            for start in range(len(tokens) - length + 1):
                piece = " ".join(tokens[start : start + length])
                for _, word in self._alone(kind):
                    if piece.lower() in word.may_mean:
                        return word, piece
        return None

    @staticmethod
    def _names_the_thing(kind: Kind, tokens: list[str]) -> int:
        """How many of *tokens* do no more than name the thing: `50 A breaker`."""
        for name in (kind.name, *kind.also):
            parts = name.lower().split()
            heads = [token.lower() for token in tokens[: len(parts)]]
            if heads == parts or heads == [*parts[:-1], parts[-1] + "s"]:
                return len(parts)
        return 0

    def _may_be_left(self, kind: Kind, token: str) -> bool:
        """Whether a word that says nothing known may be kept aside."""
        if token.lower() in JOINING:
            return True
        if token.lower() in TURNING or not re.fullmatch(r"[^\W\d_]{2,}(-[^\W\d_]+)*", token):
            return False
        known = {name.lower() for name in self._known(kind)}
        # copper-clad is no copper
        if known & {token.lower(), *token.lower().split("-")}:
            return False
        return not self.hint(kind, token)

    def _known(self, kind: Kind) -> list[str]:
        """The words that say something of a thing of that kind."""
        known = [form.said for form in kind.forms if not form.named]
        for _, word in self._alone(kind):
            known += [*word.means, *word.may_mean]
            known += word.type[1] if word.type[0] == "choice" else ()
        return known

    def hint(self, kind: Kind, token: str) -> str:
        """What may have been meant by a word that says nothing; "" where nobody knows."""
        hint = suggest(token, self._known(kind), 0) if token else ""
        return f'"{token}": {hint}' if hint.startswith(HINTS) else ""


class Placing:
    """Puts what a thing is told in people's own forms where it belongs.

    One for each job; `spread` is asked for each thing before its parts are made.
    """

    def __init__(
        self, knowledge: Knowledge, value_of: Callable[[Word, str], str | None], faults: Collector
    ) -> None:
        self.kinds, self.faults = knowledge.words.kinds, faults
        self.alone, self.value_of = Alone(knowledge, value_of), value_of
        self.read_as: list[ReadAs] = []
        # (thing, what was said of it, where) that no rule knows
        self.left: list[tuple[str, str, Text]] = []

    def spread(self, id_: str, kind: Kind, said: Said) -> Said:
        """What is *said* of a thing, with all that its parts say of it and of each other."""
        if not any(self._to_do(kind, name, value) for name, (_, value) in said.items()):
            return said
        out = {**said}
        elsewhere: list[tuple[Path, Text, Text]] = []
        for name, (key, value) in said.items():
            if name in kind.tells:
                del out[name]
                elsewhere.append((kind.tells[name], Text(str(key), place_of(key)), value))
                continue
            word = kind.words.get(name)
            if word is None:
                continue
            if word.brings:
                elsewhere += self._brought(word, key, value)
            if word.part:
                out[name] = (key, self._part(id_, kind, word, key, value, elsewhere))
        for path, key, value in elsewhere:
            with self.faults.catching():
                if isinstance(path, New):
                    self._add(kind, out, path, key, value)
                else:
                    self._put(id_, kind, out, path, key, value)
        return out

    def _to_do(self, kind: Kind, name: str, value: Any) -> bool:
        """Whether there may be something to put elsewhere: most that is told is told in full."""
        word = kind.words.get(name)
        if word is None:
            return name in kind.tells
        return bool(word.brings) or bool(word.part) and value is not None

    @staticmethod
    def _brought(word: Word, key: Any, value: Any) -> Iterator[tuple[Path, Text, Any]]:
        """What else a value says, beside what it is."""
        said = re.sub(r"\s+", "", str(value)).lower()
        for written, facts in word.brings.items():
            if re.sub(r"\s+", "", written).lower() == said:
                for path, what in facts.items():
                    yield path, Text(str(key), place_of(key)), Text(what, place_of(value))

    # ---- the parts of a thing
    def _part(
        self, id_: str, whole: Kind, word: Word, key: Any, value: Any, elsewhere: list
    ) -> Any:
        """A part, or a list of parts, as it is told in full."""
        kind = self.kinds[word.type[1]]
        where = word.name if id_ == "job" else f"{id_}.{word.name}"
        if word.part in ("many", "open"):
            if isinstance(value, str) and value.lower() not in UNREAD:
                body = self._body(f"{where}.1", whole, kind, key, value, elsewhere)
                return value if body is value else _listed([body], value)
            if isinstance(value, list) and self._alike(kind, value):
                bodies = [
                    self._body(f"{where}.{i}", whole, kind, key, one, elsewhere)
                    if str(one) != "and more"
                    else one
                    for i, one in enumerate(value, 1)
                ]
                return _listed(bodies, value)
            if isinstance(value, dict) and not self._is_one(kind, value):
                named = {
                    name: self._body(f"{where}.{name}", whole, kind, name, one, elsewhere)
                    for name, one in value.items()
                }
                return _mapped(named, value)
            return value
        return self._body(where, whole, kind, key, value, elsewhere)

    def _alike(self, kind: Kind, bodies: list) -> bool:
        """Whether the texts of a list say the same fact, each of a thing of its own: [NM-B, 20 ft]
        are two facts of one thing.
        """
        texts = [str(b) for b in bodies if isinstance(b, str) and str(b) != "and more"]
        readings = [self.alone.read(kind, text) for text in texts]
        said = {frozenset(r.own) for r in readings if r is not None}
        return len(said) < 2 and None not in readings

    def _is_one(self, kind: Kind, bodies: dict) -> bool:
        """Whether what should be things by their names are facts of one of them."""
        return any(
            isinstance(value, str) and self._called(kind, str(name)) in kind.words
            for name, value in bodies.items()
        )

    def _body(
        self, id_: str, whole: Kind, kind: Kind, key: Any, value: Any, elsewhere: list
    ) -> Any:
        """What one part says of itself; what it says of others goes to *elsewhere*."""
        if isinstance(value, str):
            if value.lower() in UNREAD:
                return value
            reading = self.alone.read(kind, str(value))
            if reading is None:
                return value
            return self._told(id_, whole, kind, key, value, reading, elsewhere)
        if isinstance(value, dict):
            return self._facts(id_, whole, kind, value, elsewhere)
        return value

    def _told(
        self,
        id_: str,
        whole: Kind,
        kind: Kind,
        key: Any,
        value: Any,
        reading: Reading,
        elsewhere: list,
    ) -> Mapping:
        """A thing that was told by its values alone, told in full."""
        at = place_of(value)
        name = Text(str(key), place_of(key))
        body = _mapped({Text(f, at): Text(v, at) for f, v in reading.own.items()}, value)
        for path, what in reading.others.items():
            elsewhere.append((_from(whole, path), name, Text(what, at)))
        said = {path[-1]: what for path, what in reading.told.items()}
        told = [fact if what == "yes" else f"{fact} {what}" for fact, what in said.items()]
        # one value in its own form is no reading that a person has to check
        if len(told) > 1:
            self.read_as.append(ReadAs(id_, str(key), str(value), at, tuple(told)))
        self.left += [(id_, str(key), Text(word, at)) for word in reading.left]
        return body

    def _facts(self, id_: str, whole: Kind, kind: Kind, body: dict, elsewhere: list) -> Any:
        """The facts of a part, without those that belong to its whole, and with those that one
        value says beside its own.
        """
        out: dict[Any, Any] = {}
        changed = False
        for key, value in body.items():
            name = self._called(kind, str(key))
            said = self._fact(id_, whole, kind, name, key, value, elsewhere)
            changed = changed or said is not None
            out |= {key: value} if said is None else said
        return _mapped(out, body) if changed else body

    def _fact(
        self, id_: str, whole: Kind, kind: Kind, name: str, key: Any, value: Any, elsewhere: list
    ) -> dict | None:
        """What one fact of a part is as it is told in full; None where it is that already."""
        at_key = Text(str(key), place_of(key))
        path = kind.tells.get(name)
        if path is not None and path[0] == whole.name:
            # what belongs to a list of the whole becomes a member of it, called after where it
            # stood
            new = len(path) == 2 and whole.words[path[1]].part in ("many", "open")
            called = New(path[1], f"{id_.rpartition('.')[2]} {key}") if new else path[1:]
            elsewhere.append((called, at_key, value))
            return {}
        word = kind.words.get(name)
        if word is None:
            return None
        if isinstance(value, dict) and word.type[0] == "ref" and not word.part:
            part = self._list_of(whole, word.type[1])
            if not part:
                return None
            new_name = f"{id_.rpartition('.')[2]} {word.name}"
            elsewhere.append((New(part, new_name), at_key, value))
            return {key: Text(new_name, place_of(value))}
        if name in kind.said_alone and isinstance(value, str):
            reading = self._several(kind, word, value)
            if reading is not None:
                return self._told(id_, whole, kind, key, value, reading, elsewhere)
        return None

    @staticmethod
    def _list_of(whole: Kind, kind: str) -> str:
        """The list of a whole in which things of a kind are; "" where there is none."""
        lists = (w.name for w in whole.words.values() if w.part in ("many", "open"))
        return next((name for name in lists if whole.words[name].type[1] == kind), "")

    def _several(self, kind: Kind, word: Word, value: str) -> Reading | None:
        """What a value says of a thing that is no value of its fact: `size: 12/2 with ground`."""
        if value.lower() in UNREAD or self.value_of(word, str(value)) is not None:
            return None
        reading = self.alone.read(kind, str(value))
        return reading if reading is not None and word.name in reading.own else None

    @staticmethod
    def _called(kind: Kind, key: str) -> str:
        """The name of a fact by which people call it."""
        for name in (key.strip(), key.strip().lower(), key.strip().replace("_", " ")):
            if name in kind.words or name in kind.tells:
                return name
            if name in kind.aliases:
                return kind.aliases[name]
        return kind.folded.get(key.strip().lower(), key)

    # ---- what belongs elsewhere
    def _put(self, id_: str, kind: Kind, said: Said, path: Path, key: Text, value: Any) -> None:
        """Put what *key* said where *path* leads, from a thing of which so much is *said*.

        Raises:
            Fault: it is told otherwise there, or it could be told of several things.
        """
        name, *rest = path
        word = kind.words[name]
        if not word.part:
            said[name] = (key, self._one(word, said.get(name, (key, None))[1], key, value))
            return
        there_key, there = said.get(name, (key, None))
        part = self.kinds[word.type[1]]
        if word.part in ("many", "open"):
            said[name] = (there_key, self._in_list(id_, kind, word, there, rest, key, value, said))
            return
        said[name] = (there_key, self._in_one(part, there, rest, key, value))

    def _add(self, kind: Kind, said: Said, new: New, key: Text, value: Any) -> None:
        """Add a thing to one of the job's lists, that was described at the thing it belongs to.

        Raises:
            Fault: there is one of that name, or what is written describes none.
        """
        word = kind.words[new.part]
        part = self.kinds[word.type[1]]
        there_key, there = said.get(new.part, (key, None))
        body = self._described(f"{new.part}.{new.name}", kind, part, key, value)
        if there is not None and not isinstance(there, (dict, list)):
            return
        named = (
            there if isinstance(there, dict) else {str(i): b for i, b in enumerate(there or (), 1)}
        )
        if new.name in named:
            raise Fault(
                "written-twice",
                place_of(value, place_of(key)),
                f'"{key}" describes {new.part}.{new.name}, and so does line'
                f" {place_of(named[new.name])[1]}",
                "keep one of them: they are the same thing",
            )
        added = {**named, Text(new.name, place_of(key)): body}
        said[new.part] = (there_key, _mapped(added, there if there is not None else value))

    def _one(self, word: Word, there: Any, key: Text, value: Any) -> Any:
        """One fact that is told in two places: the same, or a fault."""
        if there is None or str(there).lower() in UNREAD[:-1]:
            return value
        if self._plain(word, there) == self._plain(word, value):
            return there
        at = place_of(there)
        raise Fault(
            "told-two-ways",
            place_of(value, place_of(key)),
            f'"{key}" says {word.name} {value}, and {word.name} {there} is told in line {at[1]}',
            "keep the one that is so",
        )

    def _plain(self, word: Word, value: Any) -> str:
        """A value in the one way to write it."""
        text = str(value).strip()
        if word.type[0] == "flag" and text:
            return {"y": "yes", "t": "yes", "n": "no", "f": "no"}.get(text[0].lower(), text)
        if word.type[0] == "q":
            bare = re.fullmatch(r"[\d.,/ -]+", text)
            try:
                return str(parse_quantity(f"{text} {word.unit}" if bare else text, word.type[2])[0])
            except Fault:
                return text.lower()
        return (self.value_of(word, text) or text).lower()

    def _in_one(self, part: Kind, there: Any, rest: list[str], key: Text, value: Any) -> Any:
        """A part with one more fact."""
        if there is not None and not isinstance(there, dict):
            return there  # none, unknown, or a fault that is told of it
        body = _mapped(there or {}, there if there is not None else value)
        if not rest:
            return value if there is None else there
        found = next((k for k in body if self._called(part, str(k)) == rest[0]), None)
        word = part.words[rest[0]]
        if found is None:
            body[Text(rest[0], place_of(key))] = value
        else:
            body[found] = self._one(word, body[found], key, value)
        return body

    def _in_list(
        self,
        id_: str,
        kind: Kind,
        word: Word,
        there: Any,
        rest: list[str],
        key: Text,
        value: Any,
        said: Said,
    ) -> Any:
        """A list of parts, each of which has one more fact; of none that is told one is made, in
        which all is.
        """
        part = self.kinds[word.type[1]]
        if there is None:
            if not rest:
                made = self._described(f"{id_}.{word.name}.1", kind, part, key, value)
            else:
                made = self._in_one(part, None, rest, key, value)
            return _listed([self._shared(kind, part, made, said)], value)
        bodies = list(there.values()) if isinstance(there, dict) else there
        if not isinstance(bodies, list) or any(not isinstance(b, dict) for b in bodies):
            return there
        facts = self._facts_of(f"{id_}.{word.name}", kind, part, rest, key, value)
        changed = [self._with(part, body, facts, key, len(bodies)) for body in bodies]
        if isinstance(there, dict):
            return _mapped(dict(zip(there, changed)), there)
        return _listed(changed, there)

    def _facts_of(
        self, id_: str, whole: Kind, part: Kind, rest: list[str], key: Text, value: Any
    ) -> dict[str, Any]:
        """The facts that are to be put in each part of a list."""
        if rest:
            return {rest[0]: value}
        body = self._described(id_, whole, part, key, value)
        return {self._called(part, str(fact)): what for fact, what in body.items()}

    def _described(self, id_: str, whole: Kind, part: Kind, key: Text, value: Any) -> Mapping:
        """A part that is described at its whole.

        Raises:
            Fault: what is written describes none.
        """
        body = self._body(id_, whole, part, key, value, [])
        if isinstance(body, dict):
            return _mapped(body, value)
        unclear = self.alone.unclear(part, str(value)) if isinstance(value, str) else None
        if unclear is not None:
            raise which_choice(*unclear, place_of(value, place_of(key)))
        raise Fault(
            "job-form",
            place_of(value, place_of(key)),
            f'"{value}" describes no {part.name}',
            f"describe each {part.name} where they are listed, as {{fact: value, ...}}",
        )

    def _with(self, part: Kind, body: Any, facts: dict[str, Any], key: Text, of: int) -> Any:
        """One part of *of* with facts that were told of the whole."""
        for fact, value in facts.items():
            if any(self._called(part, str(k)) == fact for k in body) and of > 1:
                continue
            word = part.words[fact]
            # a size or a kind may be that of all; an amount is of one of them
            if of > 1 and word.type[0] == "q":
                raise Fault(
                    "which-of-several",
                    place_of(value, place_of(key)),
                    f'"{key}" is told of the whole, which has {of} {part.name}s',
                    f"tell {fact} of the {part.name} that has it",
                )
            body = self._in_one(part, body, [fact], key, value)
        return body

    def _shared(self, whole: Kind, part: Kind, body: Any, said: Said) -> Any:
        """The one part that is all of its whole: what the two have alike is the same."""
        for name in part.shares:
            if name in said and name in whole.words and name not in body:
                body = _mapped({**body, Text(name, place_of(said[name][1])): said[name][1]}, body)
        return body


def which_choice(word: Word, text: str, at: Place) -> Fault:
    """The fault that *text* may be any of several choices: which one it is, is asked for."""
    could = word.may_mean[text.lower()]
    full = {
        choice: f" ({max(said, key=len)})"
        for choice in could
        if (said := [written for written, means in word.means.items() if means == choice])
    }
    here = [choice + full.get(choice, "") for choice in could if choice[0] != "("]
    others = [choice[1:-1] for choice in could if choice[0] == "("]
    where = " where it is one" if len(here) == 1 else ""
    what = f'"{text}" does not say which {word.name} it is'
    return Fault("not-a-choice", at, what, "; ".join([f"write {or_list(here)}{where}", *others]))


def _from(whole: Kind, path: Path) -> Path:
    """A path from the whole that a thing is a part of."""
    return path[1:] if path[0] == whole.name else path


def _mapped(facts: dict[Any, Any], of: Any) -> Mapping:
    """*facts* as they would have been read from where *of* stands."""
    out = Mapping(facts)
    out.at = place_of(of)
    return out


def _listed(bodies: list[Any], of: Any) -> Items:
    out = Items(bodies)
    out.at = place_of(of)
    return out

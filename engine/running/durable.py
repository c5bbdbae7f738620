"""The durable-rules chainer: a second way to run the same rules. The only module that knows that
library.

What goes into the library is presence, never a value: "this fact of this thing is settled", "this
link leads there", "this choice could be what the rule asks for". There it is matched and joined
along the links; a rule fires on a thing when everything it reads is settled and its literal
conditions could hold, and a rule that never fired does not apply. Values, tables, arithmetic,
exceptions and settling are those of `chain`, so the two chainers check each other's order, links
and conditions, and not each other's sums.

The library is used in a narrow subset that was measured to be sound
(tests/engine/test_durable_traps.py shows what happens outside it): presence facts with ids of our
own, joins on text, an always-true join at the end of each pattern, no negation, no `or`, no
numbers.
"""

from __future__ import annotations

import decimal
import functools
import json
import mmap
import threading
import weakref
import zlib
from collections.abc import Callable, Iterable, Iterator
from types import ModuleType
from typing import Any

from ..basics.errors import Fault, Faults, Place
from ..basics.sentinels import NONE, NOTHING
from ..basics.units import EXACT
from ..language import expressions as ex
from ..language.knowledge import Knowledge
from ..language.rules import JUDGING, Rule
from ..language.things import Members, NodeId, Thing, members
from .chain import OFF, World, every_thing
from .job import Job, read_job
from .program import program_of

SID = "j"  # one job at a time in one state: two state names with one hash would share their facts
SHARDS = 64  # facts are told apart first by a hash of what they say: one node cannot hold 512 tests
FANOUT = 480  # tests of one shard (511 measured)
GROUP = 30  # patterns behind one grouping test: 65 that are true for one fact lose it
MOST_GROUPS = 30
MOST_PATTERNS = 16  # of one rule: with 17 it never fires
# the decimal ids "0" to "797185" have hashes of their own; identity is a 32-bit hash
MOST_FACTS = 700_000
MOST_PLANS = 3  # of all knowledge there is in a process, some fifty-five megabytes each
LONGEST = 10_000  # characters of what a fact says
# Rules of one part of a plan: a state takes room for every rule and fact in it, and only one part
# has a state at a time.
MOST_IN_PART = 40
# bytes that the library takes: for a character of a rule, for a state, for a fact in it (measured;
# rounded up)
ROOM_OF_CHARACTER, ROOM_OF_STATE, ROOM_OF_FACT = 100, 48 << 20, 16 << 10
NO_ROOM = "second-chainer-room"  # the fault that says so
# always true, and last: the library reads past a row of tests whose last one is false
GUARD = '{"_":{"p0":"_"}}'


class DurableError(Exception):
    """The library did something it should not: ours to mend, never a person's slip."""


def _library() -> ModuleType:
    import durable_rules_engine

    return durable_rules_engine


def available() -> bool:
    """Whether the library imports here (it is built from source, and not loadable from Python 3.13
    on).
    """
    try:
        _library()
    except ImportError:
        return False
    return True


def make_room(size: int) -> None:
    """See that the library will be given *size* bytes. It does not look whether it was, and ends
    the whole process where it was not.

    Raises:
        Fault: there are not so many, though every plan that is not in use was let go.
    """
    if _there_is(size):
        return
    while _USED:
        _let_go(*_USED.pop(0))
    if not _there_is(size):
        raise Fault(
            NO_ROOM,
            Place("--chainer"),
            f"the second chainer takes {size >> 20} MB more than there are",
            "leave --chainer out: the plain chainer serves alone; or give it more memory",
        )


def _there_is(size: int) -> bool:
    """Whether the system would give so many bytes. It is asked for addresses alone, which costs
    nothing.
    """
    try:
        with mmap.mmap(-1, max(size, mmap.PAGESIZE), **_OURS_ALONE):
            return True
    except (OSError, ValueError, OverflowError):
        return False


# addresses that no other process shares, where the system makes a difference
_OURS_ALONE: dict[str, Any] = (
    {"flags": mmap.MAP_PRIVATE | mmap.MAP_ANONYMOUS} if hasattr(mmap, "MAP_PRIVATE") else {}
)


class Pattern:
    """One fact a rule waits for: what it says, and whose it is: the thing itself (0), or where an
    earlier link leads.
    """

    __slots__ = ("says", "of", "link")

    def __init__(self, says: str, of: int | None = None, link: bool = False) -> None:
        # link: `of` is a link, and this fact belongs to its far end
        self.says, self.of, self.link = says, of, link


class Waiting:
    """A rule as the library sees it: its name, where it was written, and the facts it waits for,
    its own thing first.
    """

    __slots__ = ("name", "at", "patterns")

    def __init__(self, name: str, at: Place, patterns: list[Pattern]) -> None:
        self.name, self.at, self.patterns = name, at, patterns


class DurableCore:
    """A set of waiting rules, compiled once; jobs are run through it one after another.

    Raises Faults where a rule goes beyond what the library was measured to bear.
    """

    def __init__(self, rules: list[Waiting]) -> None:
        self.lib, self.lock = _library(), threading.Lock()
        self.live, self.facts, self.off = False, 0, 0
        # Without a rule that may want them, facts no other rule mentions are dropped and told as an
        # error.
        more = {
            "zz start": [{"p0": {"zz start": 1}}],
            "zz sink": [{"p0": {"_": 1}}, {"p1": {"$and": [{"zz never": 1}, {"_": {"p0": "_"}}]}}],
        }
        texts = [
            *self._compile(rules),
            *((name, json.dumps(patterns)) for name, patterns in more.items()),
        ]
        # `dist: 0` lets one fact fill two patterns: else a rule that reads one fact by two paths
        # never fires.
        said = ",".join(f'{json.dumps(name)}:{{"all":{text},"dist":0}}' for name, text in texts)
        make_room(len(said) * ROOM_OF_CHARACTER)
        self.handle = self.lib.create_ruleset("whywire", "{" + said + "}")
        weakref.finalize(self, self.lib.delete_ruleset, self.handle)

    def __reduce__(self) -> tuple[type[None], tuple[()]]:
        # knowledge that is kept in a file forgets it
        return type(None), ()

    @staticmethod
    def _compile(rules: list[Waiting]) -> Iterator[tuple[str, str]]:
        """Each rule's name and its patterns as the JSON that the library reads."""
        uses: dict[str, int] = {}
        shards: dict[int, set] = {}
        faults: list[Fault] = []
        seen: set[str] = set()
        for rule in rules:

            def fault(what: str, todo: str, rule: Waiting = rule) -> None:
                faults.append(
                    Fault(
                        "durable-limit",
                        rule.at,
                        f"{rule.name} {what}",
                        todo + ", or run with the plain chainer",
                    )
                )

            if rule.name in seen or rule.name.startswith("zz "):
                fault("is there twice", "give it a name of its own")
            seen.add(rule.name)
            if len(rule.patterns) > MOST_PATTERNS:
                fault(
                    f"reads {len(rule.patterns)} facts and links, and {MOST_PATTERNS} are the most"
                    " for one rule",
                    "give part of its formula to a fact of its own",
                )
            out = []
            starts = {pattern.of for pattern in rule.patterns if pattern.link}
            for place, pattern in enumerate(rule.patterns):
                number = uses[pattern.says] = uses.get(pattern.says, 0) + 1
                if number > GROUP * MOST_GROUPS:
                    fault(f'is one rule too many to read "{pattern.says}"', "divide the kind")
                shard = shards.setdefault(shard_of(pattern.says), set())
                shard.add(pattern.says)
                if len(shard) > FANOUT:
                    fault(
                        f'reads "{pattern.says}", one fact too many for the library',
                        "leave facts out that nothing reads",
                    )
                if len(pattern.says) > LONGEST:
                    fault("reads a fact with too long a name", "shorten it")
                # a forward reference would be ignored
                if (pattern.of is None) != (place == 0) or (
                    pattern.of is not None and pattern.of >= place
                ):
                    raise DurableError(f"{rule.name}: pattern {place} does not join an earlier one")
                tests = f'{{"h":{shard_of(pattern.says)}}},{{"is":{json.dumps(pattern.says)}}}'
                # the first group stands beside the others' tests
                if number >= GROUP:
                    tests += f',{{"$gt":{{"_":{-(number // GROUP)}}}}}'
                if place in starts:
                    # a join on a property that is not there reads beyond the fact
                    tests += ',{"$ex":{"to":1}}'
                if place:
                    tests += (
                        f',{{"of":{{"p{pattern.of}":"{"to" if pattern.link else "of"}"}}}},{GUARD}'
                    )
                out.append(f'{{"p{place}":{{"$and":[{tests}]}}}}')
            yield rule.name, f"[{','.join(out)}]"
        if faults:
            raise Faults(faults)

    # ---- one job
    def begin(self) -> None:
        """Open the state. The start rule fires, since a state in which nothing ever fired cannot be
        deleted safely.

        Raises:
            DurableError: the library did not start.
            Fault: there is no room for a state.
        """
        make_room(ROOM_OF_STATE)
        self.lock.acquire()
        try:
            self.facts = 0
            _, self.off = self.lib.assert_fact(
                self.handle, json.dumps({"sid": SID, "id": "z", "zz start": 1})
            )
            if self.lib.start_action_for_state(self.handle, self.off) is None:
                raise DurableError("the library did not start")
            self.lib.complete_and_start_action(self.handle, self.off)
            self.live = True
        except BaseException:
            # and the state is left: nothing fired in it
            self.lock.release()
            raise

    def add(self, facts: Iterable[tuple]) -> None:
        """Assert (says, of, to or None). Each has a decimal id of its own; *of* and *to* are tokens
        of ours, digits or a word.

        Raises:
            Fault: they are more than the library tells apart, or than there is room for.
            DurableError: the library refused one.
        """
        batch = []
        for says, of, to in facts:
            end = f',"to":"{to}"' if to is not None else ""
            batch.append(
                f'{{"sid":"{SID}","id":"{self.facts}","_":1,{spelled(says)},"of":"{of}"{end}}}'
            )
            self.facts += 1
        if self.facts > MOST_FACTS:
            raise Fault(
                "durable-limit",
                Place("job"),
                f"this job has more than {MOST_FACTS:,} facts",
                "divide the job, or run it with the plain chainer",
            )
        if not batch:
            return
        make_room(len(batch) * ROOM_OF_FACT)
        # A batch of one is asserted alone: that way the library reports a fact it cannot read.
        rc, off = (
            self.lib.assert_facts(self.handle, f"[{','.join(batch)}]")
            if len(batch) > 1
            else self.lib.assert_fact(self.handle, batch[0])
        )
        if rc != 0 or off != self.off:
            raise DurableError(f"the library refused a fact (code {rc})")

    def fire_all(self, act: Callable[[str, str], None]) -> None:
        """Fire until nothing is left: *act* is told the rule's name and the `of` of its first
        fact.

        Raises whatever *act* does, and lets the firing go that led there.
        """
        got = self.lib.start_action_for_state(self.handle, self.off)
        message = got[1] if got else None
        while message is not None:
            ((name, frame),) = json.loads(message).items()
            try:
                act(name, frame["p0"]["of"])
            except BaseException:
                self.lib.abandon_action(self.handle, self.off)
                raise
            message = self.lib.complete_and_start_action(self.handle, self.off)

    def check(self) -> None:
        """The library holds exactly the facts it was given: none refused, none taken for
        another.

        Raises:
            DurableError: it does not.
        """
        # the start fact
        held = len(json.loads(self.lib.get_facts(self.handle, SID))) - 1
        if held != self.facts:
            raise DurableError(f"the library holds {held} of {self.facts} facts")

    def end(self) -> None:
        """Delete the state, whatever happened in it."""
        try:
            if self.live:
                self.live = False
                self.lib.delete_state(self.handle, SID)
        finally:
            self.lock.release()


@functools.cache
def shard_of(says: str) -> int:
    """Which shard a fact belongs to."""
    return zlib.crc32(says.encode("utf-8", "surrogatepass")) % SHARDS


@functools.cache
def spelled(says: str) -> str:
    """What a fact says, as it stands in JSON."""
    return f'"h":{shard_of(says)},"is":{json.dumps(says)}'


# ---- what a rule waits for -----------------------------------------------------------------------


def literals(rule: Rule) -> Iterator[tuple[ex.Path, tuple]]:
    """The conditions that one choice or yes/no fact decides alone: (its path, the test).

    A test is ("is", words) · ("not", words) · ("yes",) · ("no",).
    """
    queue = list(rule.when)
    while queue:
        condition = queue.pop(0)
        if isinstance(condition, ex.Junction) and condition.all:
            queue[:0] = condition.xs
        elif (
            isinstance(condition, ex.Is)
            and isinstance(condition.a, ex.Path)
            and not condition.a.member
            and condition.a.names
            and "none" not in condition.words
            and condition.a.t[0] in ("choice", "row", "text")
        ):
            yield (
                condition.a,
                ("not" if condition.negated else "is", tuple(sorted(condition.words))),
            )
        elif (
            isinstance(condition, ex.Flag)
            and isinstance(condition.a, ex.Path)
            and not condition.a.member
        ):
            yield condition.a, ("yes",)
        elif (
            isinstance(condition, ex.Not)
            and isinstance(condition.a, ex.Flag)
            and isinstance(condition.a.a, ex.Path)
            and not condition.a.a.member
        ):
            yield condition.a.a, ("no",)


def could(value: object, test: tuple[Any, ...]) -> bool:
    """Could a cell's value meet a literal test: the unknown could, what lies beyond a none could
    not.
    """
    if value is None or value is NONE:
        return value is None
    how = test[0]
    return (
        value is True
        if how == "yes"
        else value is False
        if how == "no"
        else (value in test[1]) == (how == "is")
    )


class Part:
    """Rules of a plan that stand together in the order: what they wait for, compiled, and the nodes
    that are run while the library has them.
    """

    def __init__(self, waiting: list[Waiting], levels: list[list[NodeId]]) -> None:
        self.levels = levels
        self.says = frozenset(pattern.says for rule in waiting for pattern in rule.patterns)
        self.core = DurableCore(waiting)


class Plan:
    """The rules about *kinds* as waiting rules: what to post for each fact, and what each firing
    means.

    A rule about a kind of thing that a job has none of can never fire there; leaving it out is most
    of the time saved, since the library compiles a pattern much slower than it matches one.
    """

    def __init__(
        self, knowledge: Knowledge, kinds: frozenset, nodes: frozenset | None = None
    ) -> None:
        self.nodes: dict[str, tuple] = {}  # name of a waiting rule -> its node of the order
        # (kind, fact) -> literal test -> what a fact that could meet it says
        self.tests: dict[tuple, dict[tuple, str]] = {}
        self.facts: dict[tuple, str] = {}  # (kind, fact) some rule reads -> what its presence says
        # kind -> what is read of it over a link: says -> (where it leads, is it a test)
        self.beyond: dict[str, dict[str, tuple]] = {}
        self.lists: set[str] = set()  # rules that read a list
        levels: list[list[NodeId]] = []  # nodes by stratum

        def wanted(node: tuple) -> bool:
            return (nodes is None or node in nodes) and self._kind(knowledge, node) in kinds

        for node in knowledge.order.sequence:
            rank = knowledge.order.rank[node]
            while len(levels) <= rank:
                levels.append([])
            if node[0] == "block":
                node = (*node[:2], tuple(inner for inner in node[2] if wanted(inner)))
            if node[0] == "block" and node[2] or node[0] != "block" and wanted(node):
                levels[rank].append(node)
        # what a fact says depends on all rules that read it: every one is put into words first
        waiting = {
            inner: self._rule(knowledge, knowledge.rules[inner[1]], inner)
            for level in levels
            for inner in self._rules(knowledge, level)
        }
        self.parts = [
            Part(
                [waiting[inner] for level in part for inner in self._rules(knowledge, level)], part
            )
            for part in self._parted(knowledge, levels)
        ]

    @staticmethod
    def _rules(knowledge: Knowledge, level: list[NodeId]) -> Iterator[NodeId]:
        """The nodes of a level, and of the blocks in it, that wait in the library."""
        for node in level:
            for inner in node[2] if node[0] == "block" else (node,):
                if inner[0] == "rule" and knowledge.rules[inner[1]].verb != "tries":
                    yield inner

    @classmethod
    def _parted(cls, knowledge: Knowledge, levels: list[list[NodeId]]) -> list[list[list[NodeId]]]:
        """*levels* cut into parts of few rules. No node of a level needs another of it, so that a
        level may be cut, too.
        """
        parts: list[list[list[NodeId]]] = [[]]
        rules = 0
        for level in levels:
            for place, node in enumerate(level):
                more = sum(1 for _ in cls._rules(knowledge, [node]))
                if rules and rules + more > MOST_IN_PART:
                    parts.append([])
                    rules = 0
                if not place or not parts[-1]:
                    parts[-1].append([])
                parts[-1][-1].append(node)
                rules += more
        return parts

    @staticmethod
    def _kind(knowledge: Knowledge, node: tuple) -> str:
        """The kind of thing that a node of the order is about."""
        return node[1] if node[0] == "cell" else knowledge.rules[node[1]].about

    def _rule(self, knowledge: Knowledge, rule: Rule, node: tuple) -> Waiting:
        plane = node[2]
        name = f"{rule.id}?{plane}" if plane else rule.id
        self.nodes[name] = node
        patterns = [Pattern(self.thing(rule.about, plane))]
        reached: dict[tuple, int] = {}  # path -> the pattern of its last step
        tests: dict[tuple, list] = {}
        for path, test in literals(rule):
            mine = tests.setdefault(path.names, [])
            if test not in mine:
                mine.append(test)
        pieces = [piece for top in rule.exprs() for piece in ex.walk(top)]
        for read in (piece for piece in pieces if isinstance(piece, ex.Path)):
            if read.member:
                continue
            for length in range(1, len(read.names) + 1):
                step = read.names[:length]
                if step in reached:
                    continue
                of, link = (reached[step[:-1]], True) if length > 1 else (0, False)
                key = (read.kinds[length - 1], step[-1])
                said = [
                    self.tests.setdefault(key, {}).setdefault(
                        test,
                        f"{key[0]}.{key[1]} could be {test[0]}"
                        f" {'|'.join(test[1]) if len(test) > 1 else ''}",
                    )
                    for test in tests.get(step, ())
                ]
                for says in said or [self.facts.setdefault(key, f"{key[0]}.{key[1]}")]:
                    patterns.append(Pattern(says, of, link))
                    if link:
                        word = knowledge.words.kinds[key[0]].words[key[1]]
                        self.beyond.setdefault(key[0], {})[says] = (
                            word.type[1] if word.type[0] == "ref" else "",
                            bool(said),
                        )
                reached[step] = len(patterns) - 1
        for exception in knowledge.order.exceptions.get(rule.id, ()):
            patterns.append(Pattern(f"verdict {exception.id}", 0))
        if any(isinstance(piece, (ex.Over, ex.Quant)) for piece in pieces):
            self.lists.add(rule.id)
            patterns.append(Pattern(f"list {name}", 0))
        return Waiting(name, rule.at, patterns)

    @staticmethod
    def thing(kind: str, plane: str) -> str:
        """What says that a thing is there; the rows one pick tries on a thing are together one
        thing.
        """
        return f"is {kind}" + (f" tried by {plane}" if plane else "")


def plan_of(
    knowledge: Knowledge, kinds: frozenset | None = None, nodes: frozenset | None = None
) -> Plan:
    """The compiled plan of *knowledge* for jobs with these kinds of things (all of them unless
    said), made once and kept with it.

    *nodes* keeps it to a part of the order: what one answer rests on.

    Raises Faults with every rule beyond a limit.
    """
    plans = program_of(knowledge).plans
    kinds = frozenset(knowledge.words.kinds) if kinds is None else kinds
    mine = weakref.ref(knowledge), (kinds, nodes)
    plan = plans.get(mine[1])
    if plan is None:
        while len(_USED) >= MOST_PLANS:
            _let_go(*_USED.pop(0))
        plan = plans[mine[1]] = Plan(knowledge, kinds, nodes)
    elif mine in _USED:
        _USED.remove(mine)
    # last used, last let go
    _USED.append(mine)
    return plan


# every plan there is, by its knowledge and its key there; the last used last
_USED: list[tuple[weakref.ref[Knowledge], Any]] = []


def _let_go(of: weakref.ref[Knowledge], key: Any) -> None:
    """Let a plan go, and what the library holds of it: a run that is on its way keeps its own."""
    knowledge = of()
    if knowledge is not None:
        program_of(knowledge).plans.pop(key, None)


# ---- the run -------------------------------------------------------------------------------------

# where a link leads that nobody told, and one that was told to be absent
UNKNOWN_END, NO_END = "?", "none"


class DurableWorld(World):
    """One run of the rules over one job, in which the library says what fires where."""

    def __init__(
        self, knowledge: Knowledge, job: Job, fast: bool = True, nodes: frozenset | None = None
    ) -> None:
        super().__init__(knowledge, job, fast)
        self.plan = plan_of(
            knowledge, frozenset(kind for kind, xs in self.by_kind.items() if xs), nodes
        )
        # by part of the plan
        self.cores: list[Any] = [part.core for part in self.plan.parts]
        # (thing id, plane) -> what the library calls it: names never go in
        self.tokens: dict[tuple, str] = {}
        # token -> the cells of the thing, or of every row tried on it
        self.behind: dict[str, list] = {}
        self.firings: set[tuple] = set()  # (rule id, thing id, plane)
        self.ends: set[tuple] = set()  # (end, kind) that is told already
        # facts for the library: of those that a part waits for it is told before its rules fire
        self.posts: list[tuple] = []
        self.told = 0  # how many of them the part that runs was told, or does not wait for

    def in_general(self, rule: str, x: Thing) -> None:
        """Answer a rule on one thing by the authority alone: what another run left elsewhere is
        not taken over where two chainings are compared.
        """
        self.bailed += 1
        self.fire(self.k.rules[rule], x)

    def run(self) -> "DurableWorld":
        """Chain the rules part by part, level by level. Raises DurableError where the library errs,
        Fault where the job is too large.
        """
        # the library says what fires; what a line is worth is reckoned as by the plain chainer
        with decimal.localcontext(EXACT):
            self._open()
            for part, core in zip(self.plan.parts, self.cores, strict=True):
                self._part(part, core)
        return self

    def _part(self, part: Part, core: Any) -> None:
        core.begin()
        try:
            self.part, self.core, self.told = part, core, 0
            for level in part.levels:
                self._nodes([node for node in level if node[0] != "block"])
                for node in level:
                    if node[0] == "block":
                        self._block(node)
            self._tell()
            core.check()
        finally:
            core.end()

    def _tell(self) -> None:
        """Tell the library what was settled since, as far as its rules wait for it."""
        said = self.part.says
        self.core.add([post for post in self.posts[self.told :] if post[0] in said])
        self.told = len(self.posts)

    def _open(self) -> None:
        for kind, xs in self.by_kind.items():
            for thing in xs:
                self._enter(thing, [thing], kind, "")

    def _end(self, end: str, kind: str) -> str:
        """Where a link leads that leads to no thing: there everything a rule may read is settled,
        unknown or nothing.
        """
        if (end, kind) not in self.ends:
            self.ends.add((end, kind))
            for says, (onward, test) in self.plan.beyond.get(kind, {}).items():
                # what is unknown could be anything; beyond a none nothing could
                if not test or end == UNKNOWN_END:
                    self.posts.append((says, end, self._end(end, onward) if onward else None))
        return end

    def _enter(self, thing: list, cells: list, kind: str, plane: str) -> None:
        token = self.tokens[thing[0].id, plane] = str(len(self.tokens))
        self.behind[token] = cells
        self.posts.append((self.plan.thing(kind, plane), token, None))

    def _nodes(self, nodes: list) -> None:
        """Run nodes none of which needs another: first what fires, then what settles."""
        rules = [
            node for node in nodes if node[0] == "rule" and self.k.rules[node[1]].verb != "tries"
        ]
        for node in rules:
            if node[1] in self.plan.lists:
                says = f"list {node[1]}?{node[2]}" if node[2] else f"list {node[1]}"
                self.posts.extend(
                    (says, t, None)
                    for t, _, _ in self._subjects(self.k.rules[node[1]].about, node[2])
                )
        if rules:
            self._tell()
            self.core.fire_all(self._fired)
        for node in nodes:
            self._after(node)

    def _block(self, node: tuple) -> None:
        for depth in sorted(
            {self.depth(thing) for xs in self.by_kind.values() for thing in xs},
            reverse=node[1] == "down",
        ):
            self.only = depth
            for inner in node[2]:
                self._nodes([inner])
        self.only = None

    def _subjects(self, kind: str, plane: str) -> list[tuple]:
        """(token, thing, its cells or those of its rows) of everything a node is about."""
        out = []
        for thing in self.targets(kind, ""):
            token = self.tokens.get((thing[0].id, plane))
            if token is not None:
                out.append((token, thing, self.behind[token]))
        return out

    def _fired(self, name: str, token: str) -> None:
        _, rule, plane = self.plan.nodes[name]
        xs = self.behind[token]
        me = (rule, (xs[0][0].slot or xs[0])[0].id, plane)
        if me in self.firings:
            raise DurableError(f"{name} fired twice on {me[1]}")
        self.firings.add(me)
        self.fire_all(self.plan.nodes[name], xs)

    def _after(self, node: tuple) -> None:
        knowledge = self.k
        plane = node[2] if node[0] == "rule" else node[3] if node[0] == "cell" else ""
        if node[0] == "rule":
            rule = knowledge.rules[node[1]]
            for token, thing, cells in self._subjects(rule.about, plane):
                if (rule.id, thing[0].id, plane) not in self.firings:
                    for each in cells:
                        self._does_not_apply(rule, each)
                if rule.id in knowledge.holds:
                    self.posts.append((f"verdict {rule.id}", token, None))
            return
        self.step(node)
        if node[0] == "try":
            pick = knowledge.rules[node[1]]
            for thing in self.targets(pick.about, ""):
                if rows := self.rows_of.get((pick.id, thing[0].id)):
                    self._enter(thing, rows, pick.about, pick.id)
        elif node[0] == "cell":
            self._post(node[1], node[2], plane)

    def _does_not_apply(self, rule: Rule, thing: list) -> None:
        """What `fire` leaves where a condition is not met."""
        knowledge = self.k
        thing[knowledge.slots[rule.id]] = OFF if rule.verb in JUDGING else False
        if rule.id in knowledge.holds:
            thing[knowledge.holds[rule.id]] = False

    def _post(self, kind: str, fact: str, plane: str) -> None:
        """Tell the library that a fact is settled, where its link leads, and which literal tests it
        could meet.
        """
        says, tests = self.plan.facts.get((kind, fact)), self.plan.tests.get((kind, fact), {})
        if says is None and not tests:
            return
        word = self.k.words.kinds[kind].words[fact]
        for token, _, cells in self._subjects(kind, plane):
            if says is not None:
                to = None
                if word.type[0] == "ref":
                    end = cells[0][word.slot]
                    to = (
                        self._end(UNKNOWN_END if end is None else NO_END, word.type[1])
                        if end is None or end is NONE
                        else self.tokens[end[0].id, ""]
                    )
                self.posts.append((says, token, to))
            for test, what in tests.items():
                if any(could(y[word.slot], test) for y in cells):
                    self.posts.append((what, token, None))


# ---- do they agree? ------------------------------------------------------------------------------


def agree(
    knowledge: Knowledge,
    source: Any,
    plain: World | None = None,
    nodes: frozenset | None = None,
    job: Job | None = None,
) -> list[str]:
    """Run *source* (a path, or a mapping as of a file) through both chainers, and say every
    difference.

    Compared: every cell of every thing and of every row tried, the answer of every rule, rows
    picked, disputes, and which rule fired on what. *plain* is a finished run of the plain chainer
    on the same job, where there is one. *nodes* (see `cone`) keeps both the second run and the
    comparison to what one answer rests on. *job* is what the second run is of, not run yet, where
    that is more than *source* says.
    """
    first = plain if plain is not None else World(knowledge, read_job(source, knowledge)).run()
    job = read_job(source, knowledge) if job is None else job
    second = DurableWorld(knowledge, job, nodes=nodes).run()
    # A few at a time: all cells of a house, with their names, take more room than the run.
    out = (
        _cells_apart(first, second)
        if nodes is None
        else _apart("cells", cells_of, first, second, nodes)
    )
    for node in knowledge.order.needs if nodes is None else nodes:
        out += _apart("answers", answers_of, first, second, frozenset((node,)))
    out += _apart("picked", picked_of, first, second, nodes)
    if nodes is None:
        out += [
            f"{thing} {fact}: a dispute for one chainer only"
            for thing, fact in sorted(first.disputes ^ second.disputes)
        ]
    # one that should have fired and did not may leave what it would have left: that is compared too
    due = firings_due(first, nodes)
    out += [
        f"{rule} should fire on {thing} {plane} and did not"
        for rule, thing, plane in sorted(due - second.firings)
    ]
    out += [
        f"{rule} fired on {thing} {plane} and should not"
        for rule, thing, plane in sorted(second.firings - due)
    ]
    return out


def _apart(
    what: str,
    of: Callable[[World, frozenset | None], dict],
    first: World,
    second: World,
    nodes: frozenset | None,
) -> list[str]:
    """What two runs say otherwise of something."""
    one, two = of(first, nodes), of(second, nodes)
    if one == two:
        return []
    return [
        f"{what} of {key}: {one.get(key)!r} by the plain chainer, {two.get(key)!r} by durable-rules"
        for key in {**one, **two}
        if one.get(key) != two.get(key)
    ]


def _cells_apart(first: World, second: World) -> list[str]:
    """Every cell that two runs left otherwise, of things and of rows tried."""
    one, two = (
        {(thing[0].id, thing[0].plane): thing for thing in every_thing(world)}
        for world in (first, second)
    )
    out = []
    for key in {**one, **two}:
        a, b = one.get(key), two.get(key)
        if a is None or b is None:
            out.append(f"cells of {key}: a thing for one chainer only")
            continue
        for slot in range(1, max(len(a), len(b))):
            was, now = _cell_of(a, slot), _cell_of(b, slot)
            if was != now:
                out.append(
                    f"cells of {(*key, slot)}: {was!r} by the plain chainer, {now!r} by"
                    " durable-rules"
                )
    return out


def _cell_of(thing: list, slot: int) -> Any:
    """A cell as something that can be compared between two runs."""
    if slot >= len(thing):
        return None
    value = thing[slot]
    return (
        value if value is None or value.__class__ is str else (type(value).__name__, shown(value))
    )


def cone(knowledge: Knowledge, starts: Iterable[NodeId]) -> frozenset[NodeId]:
    """The nodes of the order that *starts* rest on, themselves included."""
    seen: set[NodeId] = set()
    stack = list(starts)
    while stack:
        node = stack.pop()
        if node not in seen:
            seen.add(node)
            stack.extend(knowledge.order.needs.get(node, ()))
    return frozenset(seen)


def shown(value: Any) -> Any:
    """A cell as something that can be compared between two runs."""
    if isinstance(value, list):
        return (
            ("things", getattr(value, "open", False), tuple(y[0].id for y in members(value)))
            if isinstance(value, Members)
            else ("thing", value[0].id)
        )
    return value


def cells_of(world: World, nodes: frozenset | None = None) -> dict:
    """(thing, plane, cell) -> value; of a part of the order, its facts alone."""
    if nodes is None:
        return {
            (thing[0].id, thing[0].plane, i): (type(value).__name__, shown(value))
            for thing in every_thing(world)
            for i, value in enumerate(thing[1:], 1)
        }
    out = {}
    for node in nodes:
        if node[0] == "cell":
            slot = world.k.words.kinds[node[1]].words[node[2]].slot
            out.update(
                {
                    (thing[0].id, node[3], slot): (type(thing[slot]).__name__, shown(thing[slot]))
                    for thing in world.targets(node[1], node[3])
                }
            )
    return out


def answers_of(world: World, nodes: frozenset | None = None) -> dict:
    """(rule, thing, plane) -> its answer, on everything the order runs it on."""
    out = {}
    for node in world.k.order.needs if nodes is None else nodes:
        if node[0] == "rule":
            rule = world.k.rules[node[1]]
            if rule.verb != "tries":
                out.update(
                    {
                        (rule.id, thing[0].id, node[2]): world.answer(rule, thing)
                        for thing in world.targets(rule.about, node[2])
                    }
                )
    return out


def picked_of(world: World, nodes: frozenset | None = None) -> dict:
    """(pick, thing) -> the row chosen and the rows that wait for a fact."""
    return {
        key: (row and row[0].id, [y[0].id for y in waiting])
        for key, (row, waiting) in world.picked.items()
        if nodes is None or ("pick", key[0]) in nodes
    }


def firings_due(world: World, nodes: frozenset | None = None) -> set:
    """(rule, thing, plane) where no literal condition is known to fail, asked of the conditions
    themselves.
    """
    out = set()
    for node in world.k.order.needs if nodes is None else nodes:
        if node[0] != "rule" or world.k.rules[node[1]].verb == "tries":
            continue
        rule, plane = world.k.rules[node[1]], node[2]
        if not world.by_kind[rule.about]:
            # what is about things that the job has not is not even read
            continue
        conditions = [_condition(p, t) for p, t in literals(rule)]
        for thing in world.by_kind[rule.about]:
            rows = world.rows_of.get((plane, thing[0].id), ()) if plane else (thing,)
            if rows and all(
                any(condition.ev(y, None) not in (False, NOTHING) for y in rows)
                for condition in conditions
            ):
                out.add((rule.id, thing[0].id, plane))
    return out


def _condition(path: ex.Path, test: tuple) -> ex.Expr:
    if test[0] in ("is", "not"):
        return ex.Is(test[0] == "not", path, test[1])
    return ex.Flag(path) if test[0] == "yes" else ex.Not(ex.Flag(path))

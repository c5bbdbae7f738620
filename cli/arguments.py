"""What each command takes. Of a command that is named only its own options are read: to read all
takes longer than many an answer.
"""

from __future__ import annotations

import sys
from argparse import ArgumentParser, HelpFormatter
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, NoReturn

from .wall import seen

if TYPE_CHECKING:  # there is no such module to run
    from _typeshed import SupportsWrite

LAW = (
    "A LAW is an edition (2017), the date of the permit (2026-01-01), a place (Kestrel County),"
    " +PACK or -PACK by its name or folder, or several joined by commas (Kestrel County,"
    " 2026-01-01, -kestrel-county); what it does not say is as the job has it. One alone is"
    " compared with what is in force for the job."
)
# pages of a note, each by itself
PAGES = {
    "walk": "what is taken as done the usual way, to carry through the building",
    "care": "what to take care of, and what may have to be",
    "assumed": "what was filled in because nobody said",
    "passes": "what passes too, by name",
}
EDITIONS = ("2017", "2020", "2023", "2026")
WHICH = "2017, 2020, 2023 or 2026"


def parser(command: str, width: Callable[[], int]) -> ArgumentParser:
    """The parser of all commands, or of *command* where that is one; *width* says how wide its help
    is.
    """

    class Help(HelpFormatter):
        """Help as wide as all else that is printed; without a width argparse looks for the
        terminal's at every option.
        """

        def __init__(self, prog: str) -> None:
            super().__init__(prog, width=width() - 2)

    class Parser(ArgumentParser):
        def __init__(self, **how: Any) -> None:
            super().__init__(formatter_class=Help, **how)

        def error(self, message: str) -> NoReturn:
            """What is wrong with a command, without what its words would do to a terminal."""
            super().error(seen(message))

        def print_help(self, file: SupportsWrite[str] | None = None) -> None:
            """The help; argparse keeps to itself that it could not be written."""
            (file or sys.stdout).write(self.format_help())

    p = Parser(
        prog="whywire",
        description="What a wiring job requires, and why.",
        epilog=(
            "A design aid: it approves nothing. The authority having jurisdiction, the"
            " manufacturer's instructions and a licensed electrician decide."
        ),
    )
    p.add_argument("--version", action="store_true", help="print the version and stop")
    s = p.add_subparsers(dest="command", metavar="COMMAND", prog="whywire")
    for name, (about, short, options) in COMMANDS.items():
        if command == name or command not in COMMANDS:
            options(s.add_parser(name, help=short or about, description=about))
    return p


# ---- what several take ---------------------------------------------------------------------------


def _law_of_a_job(c: ArgumentParser) -> None:
    c.add_argument(
        "--pack",
        action="append",
        default=[],
        metavar="PACK",
        help="a pack by its name or folder (may be given again)",
    )
    c.add_argument("--edition", help=f"{WHICH}, over what the job says")
    c.add_argument("--date", metavar="DAY", help="the date of the permit, over what the job says")
    c.add_argument("--place", help="the place, over what the job says")


def _json(c: ArgumentParser) -> None:
    c.add_argument("--json", action="store_true", help="plain data for a program")


def _job(
    c: ArgumentParser, words: str = "", least: str = "+", about: str = "the job's file"
) -> None:
    c.add_argument("job", help=about)
    if words:
        c.add_argument("words", nargs=least, metavar=words, help="what is asked about")
    _law_of_a_job(c)
    c.add_argument(
        "--chainer", choices=("both", "plain"), help="both (where durable-rules imports) or plain"
    )
    _json(c)


def _answer(c: ArgumentParser) -> None:
    c.add_argument("--deep", action="store_true", help="what it rests on, as a tree")
    c.add_argument(
        "--as",
        dest="form",
        choices=("mermaid", "dot", "json", "svg"),
        help="the same tree in another form: a picture, or plain data",
    )
    c.add_argument("--all", action="store_true", help="with --deep or --as: the whole derivation")
    c.add_argument("--plain", action="store_true", help="for a homeowner")


# ---- one command each ----------------------------------------------------------------------------


def _inspect(c: ArgumentParser) -> None:
    c.epilog = (
        "Of many jobs each is inspected by itself, in as many processes as there are cores; a"
        " faulty one stops no other. The exit code is that of the worst, in the order 70, 2, 1,"
        " 3, 0."
    )
    _job(
        c,
        about=(
            "the job's file, a folder of jobs, or - for JSON lines on standard input, a job a line"
        ),
    )
    c.add_argument(
        "--workers",
        type=int,
        metavar="N",
        help="of many jobs: so many at once (as there are cores)",
    )
    c.add_argument(
        "--all", action="store_true", help="everything: each finding, the digest, who chained it"
    )
    for page, about in PAGES.items():
        c.add_argument(f"--{page}", action="store_true", help=about)


def _survey(c: ArgumentParser) -> None:
    c.epilog = (
        "Answer by the number or the words of an answer, ? where you don't know, w to hear why it"
        " is asked, a what is assumed and where that flips, s to see the note, the ways out, the"
        " parts and the sheets, c to change an earlier answer, b to take the last one back, n at"
        " the end for another circuit, q to stop. A file"
        " that is there is gone on with; what is written in it stays, comments too."
        " Exit code 0 when every card is answered, 3 when it was stopped."
    )
    c.add_argument(
        "job", nargs="?", metavar="JOB.yaml", help="the job: a new file, or one to go on with"
    )
    c.add_argument("--circuit", metavar="NAME", help="which of its circuits, or a new one")
    c.add_argument("--title", default="Surveyed job", help="what the job is called")
    c.add_argument("--answers", metavar="FILE", help="answers by card (plate: 48 A), no person")
    c.add_argument("--edition", help=f"{WHICH}: the code in force")
    c.add_argument("--date", metavar="DAY", help="the date of the permit")
    c.add_argument("--place", help="the place, whose packs are in force")
    c.add_argument(
        "--pack", action="append", default=[], help="a pack, as your own with your habits"
    )
    c.add_argument("--json", action="store_true", help="every card that was put, and the job")


def _page(c: ArgumentParser) -> None:
    c.epilog = (
        "The page is served on this machine and to nobody else, until Ctrl-C; the address opens it"
        " once. `build` writes the page that needs no server and no signal: the engine runs in the"
        " browser, from any https host, or from one file (whywire.html)."
    )
    c.add_argument("--save", default=".", metavar="FOLDER", help="where jobs are saved")
    b = c.add_subparsers(dest="page").add_parser("build", help="the page that needs no server")
    b.add_argument("--to", required=True, metavar="FOLDER", help="where the page is written")
    b.add_argument(
        "--pyodide", required=True, metavar="FOLDER", help="the npm package of that name"
    )
    b.add_argument("--edition", action="append", default=[], help=f"{WHICH}; several may be told")
    b.add_argument("--place", action="append", default=[], help="a town; several may be told")
    b.add_argument("--date", metavar="DAY", help="the day of the law, by default today")


def _why(c: ArgumentParser) -> None:
    c.epilog = (
        'Of the work: why JOB parts "NAME", why JOB order "TASK", why JOB price --prices MINE.csv.'
    )
    _job(c, "SUBJECT [ATTRIBUTE | RULE]", "*")
    _prices(c)
    _answer(c)


def _whynot(c: ArgumentParser) -> None:
    _job(c, "SUBJECT ATTRIBUTE=VALUE")
    _answer(c)


def _fix(c: ArgumentParser) -> None:
    c.epilog = (
        "Each way out is run whole before it is shown: the fault is gone then, and nothing new"
        " fails. The cheapest in a finished house stands first, with the class of work at the"
        " right. Exit codes as of inspect."
    )
    _job(c, "SUBJECT", "*")


def _work(c: ArgumentParser) -> None:
    c.add_argument("job", help="the job's file")
    _law_of_a_job(c)
    c.add_argument(
        "--shop",
        action="append",
        default=[],
        metavar="FOLDER",
        help="a pack of your shop's own habits: minutes, waste, parts (may be given again)",
    )
    _json(c)


def _prices(c: ArgumentParser, wanted: bool = False) -> None:
    c.add_argument("--prices", metavar="MINE.csv", required=wanted, help="your own prices")


def _parts(c: ArgumentParser) -> None:
    c.epilog = (
        'whywire why JOB parts "NAME" says why a part is on the list. Exit code 0 when the list is'
        " whole, 3 when it is the least there can be."
    )
    _work(c)
    _prices(c)


def _order(c: ArgumentParser) -> None:
    c.epilog = (
        'whywire why JOB order "TASK" says why a task comes where it does. Exit code 0 when every'
        " task and its minutes are known, 3 when not."
    )
    _work(c)
    c.add_argument(
        "--for", dest="audience", choices=("helper",), help="helper: a sentence for each arrow"
    )


def _price(c: ArgumentParser) -> None:
    c.epilog = (
        "Exit code 0 when it is a whole price, 1 when the job is not right, 3 when it is the least"
        " there can be."
    )
    _work(c)
    _prices(c, wanted=True)


def _sheet(c: ArgumentParser) -> None:
    c.epilog = (
        "What is NOT RIGHT or NOT LOOKED AT, and an offer whose price is not whole, is printed with"
        " --draft alone. Exit code 1 where it is not printed."
    )
    _work(c)
    _prices(c)
    c.add_argument(
        "--for",
        dest="audience",
        required=True,
        choices=("helper", "inspector", "office", "customer", "handover"),
        help="whose sheet",
    )
    c.add_argument(
        "--as", dest="form", choices=("text", "markdown", "html"), default="text", help="its form"
    )
    c.add_argument("--draft", action="store_true", help="print it all the same, marked as a draft")


def _record(c: ArgumentParser) -> None:
    c.epilog = (
        "Without --to it shows what there is to keep: logs, photographs, corrections, what is to be"
        " signed for. Of a FOLDER that was written it tells what has changed since: files, law,"
        " findings that turn, the job. Exit code 1 where something is unsafe, or changed."
    )
    _work(c)
    _prices(c)
    c.add_argument("--to", metavar="FOLDER", help="freeze it into this folder, not there yet")
    c.add_argument("--now", metavar="FILE", help="of a folder: the job's file as it is today")


def _new_prices(c: ArgumentParser) -> None:
    c.add_argument("what", choices=("new",))
    c.add_argument("file", metavar="FILE", help="a file that is not there yet")
    _json(c)


def _compare(c: ArgumentParser) -> None:
    c.epilog = LAW
    c.add_argument("job", help="the job's file, or a folder of jobs")
    c.add_argument(
        "--under",
        action="append",
        default=[],
        metavar="LAW",
        required=True,
        help="a law, once or twice",
    )
    c.add_argument(
        "--all",
        action="store_true",
        help="list every outcome of many jobs, and every rule that is only cited otherwise",
    )
    _json(c)


def _packs(c: ArgumentParser) -> None:
    c.epilog = (
        'A cell is named by its table, its keys and its column, in quotes: "equipment-grounding'
        ' rating=60 A material=copper size".'
    )
    c.add_argument("job", nargs="?", help="the job's file")
    c.add_argument(
        "--behind",
        metavar="NAME",
        help=(
            "what is behind this rule, value or cell: the base's text, then each edit in its order"
        ),
    )
    _law_of_a_job(c)
    _json(c)


def _rules(c: ArgumentParser) -> None:
    c.add_argument("words", nargs="*", metavar="WORDS")
    c.add_argument("--pack", action="append", default=[], metavar="FOLDER")
    c.add_argument("--edition", default="2023")
    _json(c)


def _words(c: ArgumentParser) -> None:
    c.epilog = "In plain words: whywire words wire size, whywire words hole, whywire words THWN-2."
    c.add_argument("words", nargs="*", metavar="WORD")
    c.add_argument("--pack", action="append", default=[], metavar="FOLDER")
    c.add_argument("--edition", default="2023")
    _json(c)


def _book(c: ArgumentParser) -> None:
    c.add_argument("packs", nargs="*", metavar="PACK", help="a pack by its name or folder")
    c.add_argument("--edition", help=f"{WHICH} (2023 where neither a place nor a pack is named)")
    c.add_argument("--date", metavar="DAY", help="the date of the permit")
    c.add_argument("--place", help="the place whose packs are in force")
    c.add_argument(
        "--as",
        dest="form",
        choices=("html", "markdown"),
        default="html",
        help="html (the default) or markdown",
    )
    c.add_argument(
        "--to",
        required=True,
        metavar="FOLDER",
        help="a folder that is empty, not there yet, or holds a book of an earlier run",
    )


def _pack(c: ArgumentParser) -> None:
    c.add_argument("what", choices=("new", "diff", "publish", "verify", "unpack"))
    c.add_argument(
        "name",
        metavar="NAME",
        help="new: a name, small letters and hyphens, as in pine-hollow; else the folder of a pack,"
        " or a published file",
    )
    c.add_argument(
        "other",
        nargs="?",
        default="",
        metavar="OTHER",
        help="diff: the folder of the new version; verify: the published file",
    )
    c.add_argument("--json", action="store_true", help="of diff and verify: plain data")
    c.add_argument("--date", default="", metavar="DAY", help="diff: the date of the permits")
    c.add_argument(
        "--job", dest="jobs", action="append", default=[], metavar="JOB", help="diff: a job more"
    )
    c.add_argument("--page", default="", metavar="FILE", help="diff: the same as one page (HTML)")
    c.add_argument("--version", default="", metavar="N", help="publish: which version it is")
    c.add_argument("--to", default="", metavar="PATH", help="publish, unpack: where it is written")
    c.add_argument(
        "--place", help="the place as a job writes it (the name in capitals, unless you give it)"
    )
    c.add_argument(
        "--edition",
        choices=EDITIONS,
        default="2023",
        help="the edition of the code that is adopted there (2023)",
    )
    c.add_argument(
        "--layer", choices=("state", "county", "city", "utility", "owner"), default="city"
    )
    c.add_argument(
        "--within",
        default="",
        metavar="PACK",
        help="the pack of the county or state that it lies in",
    )
    c.add_argument(
        "--from",
        dest="start",
        metavar="DAY",
        help="the first day of a permit that it is for (today, unless you give it)",
    )
    c.add_argument(
        "--in", dest="into", default=".", metavar="FOLDER", help="where its folder is made (here)"
    )


def _format(c: ArgumentParser) -> None:
    c.add_argument(
        "paths", nargs="+", metavar="FILE", help="files, or folders with all YAML files in them"
    )
    c.add_argument(
        "--check",
        action="store_true",
        help="change nothing: say which files are not in form (and end with 1)",
    )


def _schema(c: ArgumentParser) -> None:
    c.epilog = "whywire schema job > job.schema.json, and tell your editor which files it is for."
    c.add_argument("what", choices=("job", "pack"))
    c.add_argument(
        "packs",
        nargs="*",
        metavar="PACK",
        help="a pack by its name or folder, whose words and rules are in it too",
    )
    c.add_argument("--edition", choices=EDITIONS, default="2023")


def _check(c: ArgumentParser) -> None:
    c.add_argument("packs", nargs="*", metavar="PACK")
    c.add_argument("--edition", default="2023")
    c.add_argument("--only", "--rule", dest="only", metavar="RULE")
    c.add_argument(
        "--coverage",
        action="store_true",
        help="which conditions and limits no example shows, with examples to paste",
    )
    c.add_argument(
        "--mutate",
        action="store_true",
        help=(
            "change the rules a little, one place at a time: which changes does no example notice?"
        ),
    )
    c.add_argument(
        "--changes",
        action="store_true",
        help=(
            "of a pack of edits: what it changes against its base, and the jobs whose findings move"
        ),
    )
    c.add_argument(
        "--write",
        action="store_true",
        help="add of: and meaning: to a pack of edits where they are missing; read them",
    )
    c.add_argument(
        "--answers",
        metavar="FILE",
        default="",
        help=(
            "whether each case that was asked about is what was voted, a line an edit"
            " (no-nm-above-two-stories: y): those become its examples"
        ),
    )
    c.add_argument(
        "--ask",
        action="store_true",
        help="ask here about each such case, y or n, and write the examples",
    )
    c.add_argument(
        "--sample", type=int, metavar="N", help="with --mutate: so many changes, chosen by --seed"
    )
    c.add_argument("--seed", type=int, default=0, metavar="N", help="with --sample: which ones (0)")
    c.add_argument("--json", action="store_true")


def _quiz(c: ArgumentParser) -> None:
    q = c.add_subparsers(dest="quiz", metavar="WHAT", required=True)

    def law(c: ArgumentParser) -> None:
        c.add_argument("--edition", default=None, help=f"{WHICH} (2023 where no place is named)")
        c.add_argument("--place", help="under the law of a place")
        c.add_argument("--date", metavar="DAY", help="for a permit of that day")
        c.add_argument("--pack", action="append", default=[], metavar="PACK")
        c.add_argument(
            "--compare",
            metavar="LAW",
            help="also ask what another edition says, or a place (with --date)",
        )

    c = q.add_parser("make", help="Make a quiz.")
    c.add_argument("--number", type=int, default=10, help="how many questions")
    c.add_argument("--seed", type=int, default=1, help="the same seed gives the same quiz")
    c.add_argument(
        "--room",
        action="append",
        default=[],
        help="a group of rules, as in conductors (may be given again)",
    )
    c.add_argument("--kind", action="append", default=[], help="a kind of question")
    c.add_argument("--difficulty", type=int, default=0, choices=(0, 1, 2, 3, 4))
    c.add_argument("--belief", default="", help="only questions that this belief answers wrongly")
    c.add_argument("--title", default="")
    c.add_argument(
        "--out",
        metavar="FOLDER",
        help="write paper, answer sheet, HTML, a QTI 3.0 package and JSON here",
    )
    law(c)
    c = q.add_parser("take", help="Take a quiz here, one question at a time.")
    c.add_argument("file", help="the quiz.json that `quiz make` wrote")
    c.add_argument(
        "--results",
        required=True,
        metavar="FILE",
        help="where the answers are kept; a quiz broken off goes on from there",
    )
    c.add_argument("--name", default="", help="whatever the learner wants to be called")
    c = q.add_parser("diagnose", help="Which belief gives this answer?")
    c.add_argument("what", nargs="*", metavar="QUESTION ANSWER")
    c.add_argument("--json", action="store_true")
    law(c)
    c = q.add_parser("class", help="What a class knows, what stands in whose way, what comes next.")
    c.add_argument("results", nargs="+", metavar="FILE", help="what `quiz take --results` kept")
    c.add_argument(
        "--next", metavar="FOLDER", help="also write the next paper for this class, without names"
    )
    c.add_argument("--number", type=int, default=10, help="how many questions it has")
    c.add_argument("--seed", type=int, default=1, help="the same seed gives the same paper")
    c.add_argument("--title", default="")
    c.add_argument("--no-names", action="store_true", help="numbers instead, to show to others")
    c.add_argument("--json", action="store_true")
    law(c)
    c = q.add_parser("review", help="What one learner should be asked again, topic by topic.")
    c.add_argument("results", nargs="+", metavar="FILE")
    c.add_argument("--on", metavar="DAY", help="another day than today")
    c.add_argument("--json", action="store_true")
    c = q.add_parser("beliefs", help="The misconceptions there are, and what they go against.")
    c.add_argument("--json", action="store_true")


# name: (what it does, in fewer words for the list of commands, its options)
COMMANDS: dict[str, tuple[str, str, Callable[[ArgumentParser], None]]] = {
    "inspect": (
        "What the job needs, every finding, cautions, and what was not checked.",
        "",
        _inspect,
    ),
    "survey": (
        "Questions that a look on site answers, until the circuit is designed; writes the job.",
        "",
        _survey,
    ),
    "page": (
        "The survey as a page in a browser, served on this machine to nobody else.",
        "",
        _page,
    ),
    "why": ("Why is it so? In at most a dozen lines.", "", _why),
    "whynot": ("Why not another value? Or: why does a rule not apply?", "", _whynot),
    "fix": (
        "What can be done about what is wrong: whole alternatives side by side, each proven.",
        "",
        _fix,
    ),
    "parts": ("What to put on the truck: every part, in packs as sold.", "", _parts),
    "order": ("What is done after what, and why; holds, cautions, minutes.", "", _order),
    "price": ("What it costs and what is asked for it, by your own prices; options.", "", _price),
    "sheet": (
        "One sheet of the job: for a helper, an inspector, the office, a customer.",
        "",
        _sheet,
    ),
    "record": (
        "Freeze a job with its law, findings, readings and sheets; later: what has changed since.",
        "",
        _record,
    ),
    "prices": ("prices new FILE writes a price file to begin with.", "", _new_prices),
    "compare": (
        (
            "One job, or a folder of them, under two laws: every outcome that differs, by the"
            " change that causes it."
        ),
        "",
        _compare,
    ),
    "packs": (
        (
            "The packs there are; those in force for a job, and why; the chain of packs behind a"
            " rule, a value or a cell."
        ),
        "",
        _packs,
    ),
    "rules": ("Find and read a rule, a table or a value.", "", _rules),
    "words": (
        "How to say it in a job: find a word, a choice, a rule or a table by what people call it.",
        "",
        _words,
    ),
    "book": (
        (
            "The rule book: a page for each rule, table, value and pack, with indexes; of the base,"
            " or of what is in force in a place."
        ),
        "",
        _book,
    ),
    "pack": (
        (
            "A pack to begin with (new), two versions side by side as a council reads them (diff),"
            " and a pack as one file with its digest (publish, verify, unpack). Nothing is written"
            " over."
        ),
        "pack new NAME writes a pack to begin with; pack diff OLD NEW says what becomes otherwise.",
        _pack,
    ),
    "format": (
        "Put jobs and packs in form: spaces, indents, blank lines. No word and no comment changes.",
        "",
        _format,
    ),
    "schema": (
        (
            "What an editor needs to complete and explain a file: the JSON Schema of a job, or of"
            " the files of a pack."
        ),
        "",
        _schema,
    ),
    "check": ("Are the packs sound, and do their examples come out as written?", "", _check),
    "quiz": (
        "Questions from the rules, where every wrong answer is wrong for a reason.",
        "",
        _quiz,
    ),
}

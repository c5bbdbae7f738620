"""Nobody's trade words stand in the engine: the knowledge says them, as data. What stands in a text
of the code all the same is listed here with its reason; what is listed and gone is to be struck.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]

# Words that nobody outside the trade needs, and that a rule of the trade could hang on.
TRADE = set(
    "amp amps ampere amperes volt volts breaker breakers kitchen nm-b uf-b emt pvc conduit"
    " wire wires cable cables panel panels receptacle receptacles gfci afci egc ground grounds"
    " neutral garage charger vehicle kiln motor motors load loads circuit circuits conductor"
    " conductors feeder feeders awg kcmil copper aluminum insulation attic basement torque"
    " ampacity voltage fuse fuses dwelling house raceway disconnect lug stud joist segment"
    " segments outlet appliance range dryer heater spa sauna pump welder trench staple box".split()
)
WORK = "engine/work"
EXAMPLE = "an example of what to write, in a hint"
HELP = "an example in the help of a command"
FORM = "the form of every job: its circuits, and what is told of one"
DRAWN = "a name in a drawing or in the code itself, and no word of the trade"
UNITS = "a unit of measure, and how its sizes are written"

# What may stand anywhere: it is in whatever names a thing of a job, or its size.
EVERYWHERE = {"circuit": FORM, "circuits": FORM, "awg": UNITS, "kcmil": UNITS}

ALLOWED: dict[tuple[str, str], str] = {
    ("cli/arguments.py", "building house copper wire conductors"): HELP,
    ("cli/picture.py", "ground box"): DRAWN,
    ("cli/show_graph.py", "box"): DRAWN,
    ("cli/show_reason.py", "box"): DRAWN,
    ("engine/__init__.py", "load"): DRAWN,
    ("engine/answering/explain.py", "panel"): "what a homeowner is to leave alone, in any job",
    ("engine/answering/explain.py", "load"): "of a load the numbers that were said are shown",
    ("engine/answering/working.py", "box"): "of a wire in a box it is left out: box conductor",
    ("engine/asking/places.py", "segments"): FORM,
    ("engine/basics/errors.py", "ground load"): "opposites: a hint never offers one for the other",
    ("engine/basics/units.py", "amp amps ampere amperes volt volts range"): UNITS,
    ("engine/basics/units.py", "conductors"): EXAMPLE,
    ("engine/checking/examples.py", "range"): "a range of numbers",
    (
        "engine/comparing/amendments.py",
        "panel load segment box",
    ): "the kinds that are offered first to whoever writes a word of a kind that none has",
    ("engine/language/tables.py", "ampacity emt copper"): EXAMPLE,
    ("engine/language/words.py", "conductors"): "a noun without a singular: a set of conductors",
    ("engine/language/words.py", "wires"): EXAMPLE,
    ("engine/law/library.py", "load"): DRAWN,
    ("engine/running/job.py", "kiln basement conductors"): EXAMPLE,
    ("engine/running/job.py", "cable"): "12/2 is two things in one, and says so",
    ("engine/running/job.py", "feeders panel"): "what feeds what, in the form of a job",
    ("engine/running/rerun.py", "feeders"): "what feeds what, in the form of a job",
    ("engine/running/unknown.py", "segments attic kiln"): EXAMPLE,
    ("engine/front.py", "load"): DRAWN,
    ("engine/language/lowering.py", "wire"): EXAMPLE,
    ("engine/teaching/asked.py", "conductors"): EXAMPLE,
    (f"{WORK}/buying.py", "box"): "what a counter says of a length that no roll has",
    (f"{WORK}/money.py", "vehicle"): "a heading of costs, in any trade",
    (f"{WORK}/options.py", "kiln segments"): EXAMPLE,
    (
        "engine/language/forms.py",
        "nm-b uf-b copper ampacity cable ground voltage load wire outlet",
    ): "examples in what an editor shows of a key",
    (
        "engine/writing/schema.py",
        "breaker conductors ground kiln",
    ): "examples in what an editor shows of a key",
    (
        "engine/writing/starter.py",
        "panel panels dwelling breaker conductors ampacity receptacle voltage motors feeders"
        " feeder copper egc afci kiln gfci load range",
    ): "an ordinance and a job to begin with, which the writer puts her own in the place of",
}


def texts(path: Path) -> Iterator[str]:
    """The texts in a module that are no docstring: what it compares, and what it says."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    docstrings = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, (ast.Module, ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef))
        and node.body
        and isinstance(node.body[0], ast.Expr)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            if id(node) not in docstrings:
                yield node.value


def there() -> set[tuple[str, str]]:
    """(module, trade word) for each that stands in a text of the code."""
    modules = [*(ROOT / "engine").rglob("*.py"), *(ROOT / "cli").glob("*.py")]
    return {
        (path.relative_to(ROOT).as_posix(), word)
        for path in modules
        for text in texts(path)
        for word in re.findall(r"[a-z][a-z-]*", text.lower())
        if word in TRADE and word not in EVERYWHERE
    }


ALL = {(module, word): why for (module, words), why in ALLOWED.items() for word in words.split()}


def test_no_trade_word_stands_in_the_code_without_a_reason():
    assert not sorted(there() - ALL.keys())


def test_nothing_is_allowed_that_is_not_there():
    in_use = {(module, word) for module, word in ALL if word in TRADE}
    assert not sorted(in_use - there())


def test_every_reason_is_a_reason():
    assert all(len(why.split()) > 3 for why in ALLOWED.values())


def test_a_word_in_code_is_found(tmp_path):
    (tmp_path / "x.py").write_text('"""A breaker."""\nsmall = kind == "breaker"\n')
    assert list(texts(tmp_path / "x.py")) == ["breaker"]

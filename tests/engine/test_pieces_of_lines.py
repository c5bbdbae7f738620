"""A piece of a line knows what it is worth, how it is said and emitted, and what it needs: a kind
of piece is one class, and a class that does not say one of these is found here.
"""

import ast
from pathlib import Path

import pytest

from whywire.engine import load
from whywire.engine.language import expressions as ex
from whywire.engine.running.emit import Emitter

ENGINE = Path(__file__).resolve().parents[2] / "engine"
PIECES = ex.Expr.__module__.rpartition(".")[0]
ASKED = ("ev", "say", "emit")  # of every kind of piece, by itself


def kinds(of: type = ex.Expr) -> list[type]:
    """Every kind of piece that a line may hold."""
    below = [each for one in of.__subclasses__() for each in kinds(one)]
    return [kind for kind in below or [of] if kind.__module__.startswith(PIECES)]


@pytest.mark.parametrize("kind", kinds(), ids=lambda kind: kind.__name__)
def test_a_kind_of_piece_says_all_that_is_asked_of_it(kind):
    for name in ASKED:
        assert getattr(kind, name) is not getattr(ex.Expr, name), f"{kind.__name__}.{name}"
    if issubclass(kind, ex.Cond) and kind is not ex.Flag:
        assert kind.operation is not ex.Expr.operation


def test_a_kind_that_says_nothing_is_refused():
    class Riddle(ex.Expr):
        pass

    riddle = Riddle()
    with pytest.raises(NotImplementedError):
        riddle.ev([], None)
    with pytest.raises(NotImplementedError):
        riddle.say(str, [], None)
    with pytest.raises(NotImplementedError):
        riddle.emit(None, "x", "m")


@pytest.fixture(scope="module")
def lines():
    return [line for rule in load().rules.values() for line in rule.exprs()]


def test_every_kind_of_piece_is_in_some_line_of_the_base(lines):
    """Or what is shown of all lines here is shown of no such piece."""
    met = {type(piece) for line in lines for piece in ex.walk(line)}
    assert set(kinds()) - met <= {ex.Local}


def test_what_stands_below_a_piece_is_placed_once(lines):
    for piece in {id(p): p for line in lines for p in ex.walk(line)}.values():
        placed = [kid for kid, _ in piece.placed()]
        assert sorted(map(id, placed)) == sorted(map(id, piece.kids()))
        each = [kid for kid, stands in piece.placed() if stands is ex.Stands.EACH]
        assert not each or piece.things is not None


def test_what_is_emitted_of_a_piece_is_python(lines):
    emitter = Emitter(load())
    for line in lines:
        ast.parse(line.emit(emitter, "x", "m"), mode="eval")
        assert emitter.depth == 0
        if isinstance(line, ex.Cond):
            text = line.emit_open(emitter, "NONE")
            if text:
                ast.parse(text, mode="eval")


def asking(path: Path) -> int:
    """How often a module asks whether a piece is of some kind."""
    names = {kind.__name__ for kind in kinds()} | {"Cond"}
    return sum(
        any(isinstance(n, ast.Attribute) and n.attr in names for n in ast.walk(node.args[1]))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and ast.unparse(node.func) == "isinstance"
    )


def test_few_ask_which_kind_a_piece_has():
    """What is asked so is what a piece could say itself: it may only become less."""
    asked = {path: asking(path) for path in ENGINE.rglob("*.py")}
    assert sum(asked.values()) <= 136, {str(p): n for p, n in asked.items() if n > 9}


def test_whoever_asks_is_counted(tmp_path):
    (tmp_path / "x.py").write_text("isinstance(a, (ex.Path, ex.Over)) or isinstance(b, list)")
    assert asking(tmp_path / "x.py") == 1

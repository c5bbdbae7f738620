"""What all tests share: the base is read once a process, what is drawn is the same in every run,
and a run in which something fails says how to draw the same sample again.
"""

import os
import sys
from pathlib import Path
from types import ModuleType, NoneType

import pytest
from hypothesis import settings
from sweeps import SEED, SHARE, WHOLE

from whywire.engine.basics.reading import Items, Mapping, Text
from whywire.engine.language.knowledge import KB
from whywire.engine.law import library

# A command that a test starts keeps its bytecode, as a user's does: to compile all modules takes
# longer than most commands.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

# Of random examples a whole run draws others each time.
settings.register_profile("everyday", derandomize=not WHOLE, deadline=None)
settings.load_profile("everyday")


# Files whose tests ask the same inspected jobs: one process has them all, or each would inspect
# them for itself.
TOGETHER = {
    f"tests/laws/{name}.py": "the noted jobs"
    for name in ("test_note", "test_headline", "test_one_standing", "test_twelve_laws")
}


def together(nodeid: str) -> str:
    """With which others a test is run: those of its file, or of files that are tested together."""
    file = Path(nodeid.split("::", 1)[0]).as_posix()
    return TOGETHER.get(file, file)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    """With `--dist loadfile` a process takes a file, or files that are tested together."""
    if config.getvalue("dist") != "loadfile":
        return None
    from xdist.scheduler import LoadFileScheduling

    class Together(LoadFileScheduling):
        def _split_scope(self, nodeid: str) -> str:
            return together(nodeid)

    return Together(config, log)


def pytest_collection_modifyitems(config, items) -> None:
    """What holds a time says nothing where other tests run beside it: it is skipped there, and
    `.ci/run` runs it by itself.
    """
    if hasattr(config, "workerinput"):
        alone = pytest.mark.skip(reason="timed alone: pytest -m timed")
        for item in items:
            if item.get_closest_marker("timed"):
                item.add_marker(alone)


USED: set[ModuleType] = set()  # the test modules whose caches are still kept


@pytest.hookimpl(trylast=True)
def pytest_runtest_teardown(item, nextitem) -> None:
    """What a file's tests keep for one another ends with the last of them: hundreds of inspected
    jobs make every later look for garbage in the process a long one.
    """
    USED.add(item.module)
    if nextitem is not None and together(nextitem.nodeid) == together(item.nodeid):
        return
    shared = sys.modules.get("noted_jobs")  # kept for the files that are tested together
    for module in (*USED, *([shared] if shared else [])):
        for kept in vars(module).values():
            if hasattr(kept, "cache_clear") and kept.__module__ == module.__name__:
                kept.cache_clear()
    USED.clear()


def copied(piece):
    """What was read of a file, once more: lists and mappings may be written to, and text is never.
    To pickle it and read that takes nine times as long.
    """
    if piece.__class__ is Mapping:
        out = Mapping((key, copied(value)) for key, value in piece.items())
    elif piece.__class__ is Items:
        out = Items(map(copied, piece))
    else:
        assert isinstance(piece, (Text, str, NoneType)), "what else may a file say?"
        return piece
    out.__dict__.update(piece.__dict__)
    return out


@pytest.fixture(scope="session", autouse=True)
def base_read_once():
    """Each test gets its own copy of what was read of the packs that are shipped."""
    read, kept = library.read_yaml, {}

    def read_once(text: str, name: str):
        if not name.startswith("kb/") or library.KB != KB:
            return read(text, name)
        if (text, name) not in kept:
            kept[text, name] = read(text, name)
        return copied(kept[text, name])

    with pytest.MonkeyPatch.context() as m:
        m.setattr(library, "read_yaml", read_once)
        yield


def pytest_terminal_summary(terminalreporter) -> None:
    """Say with which seed the sweeps were drawn, where a failure may have to be repeated."""
    if terminalreporter.stats.get("failed") or terminalreporter.stats.get("error"):
        how = "WHYWIRE_WHOLE=1" if WHOLE else f"WHYWIRE_SHARE={SHARE} WHYWIRE_SEED={SEED}"
        terminalreporter.write_line(f"sweeps as drawn: {how}")

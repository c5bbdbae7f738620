"""What all tests share: the base is read once a process, what is drawn is the same in every run,
and a run in which something fails says how to draw the same sample again.
"""

import pickle

import pytest
from hypothesis import settings
from sweeps import SEED, SHARE, WHOLE

from whywire.engine.language.knowledge import KB
from whywire.engine.law import library

# Of random examples a whole run draws others each time.
settings.register_profile("everyday", derandomize=not WHOLE, deadline=None)
settings.load_profile("everyday")


@pytest.fixture(scope="session", autouse=True)
def base_read_once():
    """Each test gets its own copy of what was read of the base."""
    read, kept = library.read_yaml, {}

    def copied(text: str, name: str):
        if not name.startswith("kb/base/") or library.KB != KB:
            return read(text, name)
        if (text, name) not in kept:
            kept[text, name] = pickle.dumps(read(text, name), pickle.HIGHEST_PROTOCOL)
        return pickle.loads(kept[text, name])

    with pytest.MonkeyPatch.context() as m:
        m.setattr(library, "read_yaml", copied)
        yield


def pytest_terminal_summary(terminalreporter) -> None:
    """Say with which seed the sweeps were drawn, where a failure may have to be repeated."""
    if terminalreporter.stats.get("failed") or terminalreporter.stats.get("error"):
        how = "WHYWIRE_WHOLE=1" if WHOLE else f"WHYWIRE_SHARE={SHARE} WHYWIRE_SEED={SEED}"
        terminalreporter.write_line(f"sweeps as drawn: {how}")

"""What all tests share: a run in which something fails says how to draw the same sample again."""

from hypothesis import settings
from sweeps import SEED, WHOLE

# What is drawn is the same in every run unless the run is whole.
settings.register_profile("everyday", derandomize=not WHOLE, deadline=None)
settings.load_profile("everyday")


def pytest_terminal_summary(terminalreporter) -> None:
    """Say with which seed the sweeps were drawn, where a failure may have to be repeated."""
    if terminalreporter.stats.get("failed") or terminalreporter.stats.get("error"):
        how = "WHYWIRE_WHOLE=1" if WHOLE else f"WHYWIRE_SEED={SEED}"
        terminalreporter.write_line(f"sweeps as drawn: {how}")

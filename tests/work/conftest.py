"""What several tests of the work share."""

from pathlib import Path

import pytest

from whywire.engine.language.knowledge import KB
from whywire.engine.running.cache import load
from whywire.engine.work.price_file import INVENTED, starter


def prices_of_ours(folder: Path) -> str:
    """A price file that does not say of itself that its prices are invented."""
    file = folder / "mine.csv"
    file.write_text(starter(load((KB / "work",), "2023")).replace(INVENTED, "ours"))
    return str(file)


@pytest.fixture(scope="session")
def mine(tmp_path_factory) -> str:
    return prices_of_ours(tmp_path_factory.mktemp("prices"))

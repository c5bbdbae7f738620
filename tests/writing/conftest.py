"""What the tests of this folder share: the base is read once, and each of them gets its own copy of
what was read.
"""

import pickle

import pytest

from whywire.engine.language.knowledge import KB
from whywire.engine.law import library


@pytest.fixture(scope="session", autouse=True)
def base_read_once():
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

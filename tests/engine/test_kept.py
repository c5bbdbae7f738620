"""What is kept between starts: made anew on any doubt, never run when another could have written
it, on any system.
"""

import errno
import os
import pickle
import random
import tempfile

import pytest
from sweeps import examples

from whywire.engine.answering.inspection import body_of
from whywire.engine.basics import kept
from whywire.engine.law import library
from whywire.engine.running import cache

TEXT = """\
job: kiln
edition: 2023
circuits: {kiln: {volts: 240 V, load: {type: kiln, current: 48 A}}}
"""


@pytest.fixture(scope="module")
def fresh():
    return library.load()


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.setenv("WHYWIRE_CACHE", str(tmp_path / "cache"))
    monkeypatch.setattr(kept, "_trouble", "")
    return tmp_path / "cache"


@pytest.fixture
def start(fresh, folder, monkeypatch):
    """Load as in a process that has just begun; how often the packs had to be read is counted."""
    reads = []
    monkeypatch.setattr(library, "load", lambda *a, **how: reads.append(a) or fresh)

    def load():
        monkeypatch.setattr(cache, "_LOADED", {})
        return cache.load()

    load.reads = reads
    return load


@pytest.mark.sweep
def test_one_bit_that_turned_over_is_made_anew(start, folder, fresh):
    start()
    (file,) = folder.glob("*.knowledge")
    good, rng = file.read_bytes(), random.Random(5)
    places = [rng.randrange(len(good)) for _ in range(examples(60))] + [
        0,
        31,
        32,
        40,
        len(good) - 1,
    ]
    for n, at in enumerate(places, 1):
        bad = bytearray(good)
        bad[at] ^= 1 << rng.randrange(8)
        file.write_bytes(bad)
        k = start()
        assert len(start.reads) == n + 1, f"byte {at} was believed"
        assert k.digest == fresh.digest and k.rules["conductor-125-percent"].verb == "must"
        assert file.read_bytes() == good, "and kept whole again"
        os.chmod(file, 0o600)


def test_one_bit_of_a_job_that_turned_over_is_read_again(folder, tmp_path):
    path = tmp_path / "kiln.yaml"
    path.write_text(TEXT)
    body = body_of(path)[0]
    (file,) = folder.glob("*.job")
    good = file.read_bytes()
    for at in range(0, len(good), 7):
        bad = bytearray(good)
        bad[at] ^= 0x10
        file.write_bytes(bad)
        assert body_of(path)[0] == body and file.read_bytes() == good


class Evil:
    def __reduce__(self):
        return os.system, ("echo ran > /dev/null; false",)


@pytest.mark.parametrize("thing", [Evil(), os.path.join, pickle.loads, tempfile.mkdtemp])
def test_nothing_that_is_not_ours_is_called_though_the_digest_is_right(thing, folder):
    path = kept.place("x.job")
    kept.write(path, b"now", pickle.dumps(thing))
    assert kept.read(path, b"now", bytes) is not None
    with pytest.raises(pickle.UnpicklingError, match="no business"):
        kept.unpickled(pickle.dumps(thing))
    assert kept.read(path, b"now", kept.unpickled) is None


def test_what_a_module_of_ours_imports_is_not_ours(folder):
    data = b"\x80\x04\x8c$whywire.engine.answering.inspection\x8c\x04Path\x93."
    with pytest.raises(pickle.UnpicklingError, match="no business"):
        kept.unpickled(data.replace(b"\x8c$", b"\x8c" + bytes([35])))


def test_a_file_or_folder_of_another_owner_is_not_believed(folder, monkeypatch):
    path = kept.place("x.job")
    kept.write(path, b"now", pickle.dumps("said"))
    assert kept.read(path, b"now", kept.unpickled) == "said"
    me = os.getuid()
    monkeypatch.setattr(os, "getuid", lambda: me + 1)
    assert kept.read(path, b"now", kept.unpickled) is None
    assert kept.place("x.job") is None
    assert "belongs to somebody else" in kept.trouble()


@pytest.mark.parametrize("mode", [0o770, 0o707, 0o777])
def test_a_folder_that_others_may_write_to_is_not_used(folder, mode):
    folder.mkdir()
    folder.chmod(mode)
    assert kept.place("x.job") is None and "others may write there" in kept.trouble()


# ---- a full disk


def test_a_full_disk_leaves_nothing_behind(folder, monkeypatch):
    path = kept.place("x.job")
    real = tempfile.NamedTemporaryFile

    def full(*a, **how):
        file = real(*a, **how)

        def write(data):
            raise OSError(errno.ENOSPC, "No space left on device")

        file.write = write
        return file

    monkeypatch.setattr(tempfile, "NamedTemporaryFile", full)
    kept.write(path, b"now", b"said")
    assert not [*folder.iterdir()] and "No space left" in kept.trouble()


def test_one_who_breaks_off_leaves_nothing_behind(folder, monkeypatch):
    path = kept.place("x.job")

    def broken(*a):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", broken)
    with pytest.raises(KeyboardInterrupt):
        kept.write(path, b"now", b"said")
    assert not [*folder.iterdir()]


# ---- a system that tells no owners, as Windows


@pytest.fixture
def windows(tmp_path, monkeypatch):
    """As on Windows: no user ids, no such flags, a profile, and no time of change that tells."""
    home = tmp_path / "Users" / "me"
    (home / "AppData" / "Local").mkdir(parents=True)
    for name in ("getuid", "O_NOFOLLOW"):
        monkeypatch.delattr(os, name)
    for name in ("XDG_CACHE_HOME", "XDG_STATE_HOME", "WHYWIRE_CACHE"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("LOCALAPPDATA", str(home / "AppData" / "Local"))
    monkeypatch.setenv("HOME", str(home))
    monkeypatch.setattr(kept, "_trouble", "")
    return home


def test_where_no_owners_are_told_the_profile_keeps(windows):
    path = kept.place("x.job")
    assert path == windows / "AppData/Local/whywire/cache/x.job"
    kept.write(path, b"now", pickle.dumps("said"))
    assert kept.read(path, b"now", kept.unpickled) == "said" and not kept.trouble()
    assert kept.folder_for("state") == windows / "AppData/Local/whywire/state"


def test_where_no_owners_are_told_nothing_outside_of_the_profile_is_believed(
    windows, tmp_path, monkeypatch
):
    monkeypatch.setenv("WHYWIRE_CACHE", str(tmp_path / "shared"))
    assert kept.place("x.job") is None and "not inside of" in kept.trouble()
    link = windows / "link"
    link.symlink_to(tmp_path / "shared")
    monkeypatch.setenv("WHYWIRE_CACHE", str(link))
    assert kept.place("x.job") is None, "a link out of it is outside"


def test_a_file_that_is_held_open_is_left_for_the_next_start(windows, monkeypatch):
    path = kept.place("x.job")
    kept.write(path, b"now", pickle.dumps("said"))

    def held(*a):
        raise PermissionError(13, "The process cannot access the file")

    monkeypatch.setattr(os, "replace", held)
    kept.write(path, b"then", b"other")
    assert kept.read(path, b"now", kept.unpickled) == "said"
    assert [p.name for p in path.parent.iterdir()] == ["x.job"] and not kept.trouble()


def test_where_no_time_of_change_is_told_the_bytes_tell(windows, tmp_path):
    pack = tmp_path / "ours"
    pack.mkdir()
    (pack / "pack.yaml").write_text("pack: ours\n")
    before, state = cache.state((pack,)), (pack / "pack.yaml").stat()
    assert cache.state((pack,)) == before
    line = next(x for x in before.splitlines() if "ours/pack.yaml" in x)
    (pack / "pack.yaml").write_text("pack: mine\n")
    os.utime(pack / "pack.yaml", ns=(state.st_atime_ns, state.st_mtime_ns))
    after = next(x for x in cache.state((pack,)).splitlines() if "ours/pack.yaml" in x)
    assert after.rsplit(":", 1)[1] != line.rsplit(":", 1)[1]


def test_the_knowledge_is_kept_there_too(windows, fresh, monkeypatch):
    reads = []
    monkeypatch.setattr(library, "load", lambda *a, **how: reads.append(a) or fresh)
    for _ in range(2):
        monkeypatch.setattr(cache, "_LOADED", {})
        assert cache.load().digest == fresh.digest
    assert len(reads) == 1

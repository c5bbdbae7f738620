"""No spoilt file ends in a traceback, in a defect of ours, or in a long wait: each is answered or
told as a fault, within 5 s and 1 GB.

WHYWIRE_FUZZ=3000 spoils so many jobs, and a third as many packs; a whole run a tenth of that.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from mutants import MADE, job_of, pack_of
from sweeps import SEED, examples

MANY = int(os.environ.get("WHYWIRE_FUZZ", 0)) or examples(300)
NUMBER = {"jobs": MANY, "packs": MANY // 3}


@pytest.mark.sweep
@pytest.mark.parametrize("sort", MADE)
def test_a_spoilt_file_is_answered_or_told(sort, tmp_path):
    """All in one process, which the operating system holds to 1 GB."""
    seeds = [SEED * 1_000_000 + n for n in range(NUMBER[sort])]
    ended = subprocess.run(
        [sys.executable, str(Path(__file__).parent / "mutants.py"), sort],
        input=json.dumps(seeds),
        capture_output=True,
        text=True,
        env={**os.environ, "XDG_STATE_HOME": str(tmp_path)},
    )
    told = [json.loads(line) for line in ended.stdout.splitlines()]
    assert [(seed, wrong) for seed, wrong, *_ in told if wrong] == []
    assert [seed for seed, *_ in told] == seeds, ended.stderr[-2000:]
    codes = {code for *_, code, _ in told}
    # what is read comes to 0, 1 or 3, as it is right, not right or open
    assert 2 in codes and codes & {0, 1, 3}, "some are read, and some are told as faults"


@pytest.mark.parametrize("make", [job_of, pack_of])
def test_files_are_spoilt_and_the_same_for_a_seed(make, tmp_path):
    def made(seed: int) -> dict:
        make(seed, tmp_path)
        return {p.relative_to(tmp_path): p.read_bytes() for p in tmp_path.rglob("*") if p.is_file()}

    several = [made(seed) for seed in range(0, 200, 10)]
    assert several == [made(seed) for seed in range(0, 200, 10)]
    assert len({str(one) for one in several}) == len(several)

"""The edits of the shipped packs with a slip in each: none is taken in silence. What the slip makes
of the edit is a fault, a question, or otherwise in what is said back. (That the case which turns is
asked about is tried in test_misunderstood; here few cases are run.)
"""

import shutil
from pathlib import Path

import pytest
import yaml
from misreadings import KINDS, slips_of
from sweeps import sweep

from whywire.engine.basics import errors
from whywire.engine.basics.errors import Faults
from whywire.engine.comparing import amendments
from whywire.engine.law.library import KB

PLACES = sorted(p.parent for p in (KB / "places").glob("*/pack.yaml"))
ROUNDS = len(KINDS)
# what every edit lacks that has not been looked at yet
ROUTINE = {"meaning-missing", "of-missing", "example-needed", "relieves"}
KEPT = ("pack.yaml", "words.yaml", "actions.yaml")


def plain(edit):
    """An edit as it is first written: what nobody has looked at proves nothing."""
    return {k: v for k, v in edit.items() if k not in ("meaning", "of", "examples")}


def told_of(got, edit, before=frozenset()):
    ends = min((e.at[1] for e in got.edits if e.at > edit.at and e.at[0] == edit.at[0]), default=0)
    faults = [
        f.what
        for f in got.faults.items
        if f.code not in ROUTINE
        and f.at[0] == edit.at[0]
        and edit.at[1] <= f.at[1]
        and (not ends or f.at[1] < ends)
    ]
    return faults + [w for number, w in got.asked if number == edit.number and w not in before]


def choices_of(words):
    out = {}
    for kind in words.kinds.values():
        for word in kind.words.values():
            if word.type[0] == "choice":
                out.setdefault(word.name, []).extend(word.type[1])
    return out


def written(folder, to, change):
    """A copy of a pack, each edit as *change* has it; (file, number of the edit) -> the slip."""
    shutil.copytree(folder, to, ignore=shutil.ignore_patterns("jobs"))
    used = {}
    for path in sorted(to.glob("*.yaml")):
        if path.name in KEPT:
            continue
        items = yaml.load(path.read_text(), Loader=yaml.BaseLoader)
        edits = -1
        for i, item in enumerate(items):
            if {"rule", "value", "table", "action"} & item.keys():
                continue
            edits += 1
            slip = change(plain(item))
            items[i] = slip.edit if slip else plain(item)
            if slip:
                used[path.name, edits] = slip
        text = yaml.safe_dump(items, allow_unicode=True, sort_keys=False, width=10**6)
        path.write_text(text)
    return used


def reviewed(folder):
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(amendments, "known_packs", dict)
        patch.setattr(errors, "FAULTS", 10_000)
        patch.setattr(amendments, "RUNS", 0)
        patch.setattr(amendments, "LEAST_RUNS", 8)
        return amendments.review(folder)


def by_place(got):
    """The edits of a review by file and number in it."""
    out = {}
    for edit in sorted(got.edits, key=lambda e: e.at):
        name = Path(edit.at[0]).name
        out[name, sum(key[0] == name for key in out)] = edit
    return out


@sweep(
    "folder, turn",
    [(folder, turn) for folder in PLACES for turn in range(ROUNDS)],
    turn="nothing is silent",
    ids=str,
)
def test_a_slip_in_a_shipped_edit_is_told_or_said_back(folder, turn, tmp_path):
    written(folder, tmp_path / "right" / folder.name, lambda edit: None)
    right = reviewed(tmp_path / "right" / folder.name)
    choices = choices_of(right.library.words)

    def one_of(edit):
        slips = list(slips_of(edit, choices, turn))
        return slips[turn % len(slips)] if slips else None

    used = written(folder, tmp_path / "wrong" / folder.name, one_of)
    try:
        wrong = reviewed(tmp_path / "wrong" / folder.name)
    except Faults:
        return  # it is refused as a whole
    silent = []
    rights, wrongs = by_place(right), by_place(wrong)
    for place, slip in used.items():
        edit, before = wrongs[place], rights[place]
        asked = frozenset(w for number, w in right.asked if number == before.number)
        said, was = (got.said.get(e.number, "") for got, e in ((wrong, edit), (right, before)))
        if not told_of(wrong, edit, asked) and (said == was or slip.shows not in said):
            silent.append((slip.kind, slip.edit, said))
    assert silent == []
    assert len(used) >= len(wrongs) // 2
    print(folder.name, len(used), "slips")

"""What a survey takes for granted is told to the run that it has, and comes to what a run anew
comes to: cell by cell, after every answer of every survey.
"""

from __future__ import annotations

from survey_scenes import CARDS, HEAD, SURVEYS, K, surveyed
from sweeps import sweep

from whywire.engine.answering.inspection import Inspection
from whywire.engine.answering.standing import Standing
from whywire.engine.asking.survey import Survey
from whywire.engine.language.things import Members, members
from whywire.engine.running.chain import every_thing
from whywire.engine.running.job import mapping_of
from whywire.engine.running.rerun import text_of


def cells(standing: Standing) -> dict[tuple[str, str], str]:
    """Every cell of every thing, and of every row that was tried, as it is written."""
    out: dict[tuple[str, str], str] = {}
    for thing in every_thing(standing.world):
        for word in K.words.kinds[thing[0].kind].words.values():
            value = thing[word.slot]
            if isinstance(value, Members):
                out[thing[0].id, word.name] = str([one[0].id for one in members(value)])
            else:
                out[thing[0].id, word.name] = text_of(value)
    return out


@sweep("name", SURVEYS, turn="spare")
def test_what_is_taken_for_granted_is_told_or_run_anew_alike(name):
    answers = surveyed(name).answers
    told_over = 0
    for count in range(1, len(answers) + 1):
        survey = Survey(CARDS, K, HEAD, answers[:count])
        anew = Inspection(mapping_of(survey.job), K).standing
        over = survey.standing
        told_over += bool(over.guesses) and over.world is over._told
        assert cells(over) == cells(anew), answers[count - 1]
        assert (over.guesses, over.built) == (anew.guesses, anew.built)
        assert over.headline == anew.headline
        assert over.world.job.assumed == anew.world.job.assumed
        assert over.world.job.put_in == anew.world.job.put_in
    assert told_over

"""A job of one circuit, run by the plain chainer: what each rule answers, by which sections. Shared
by this folder.
"""

import copy
from functools import cache

from whywire.engine import load
from whywire.engine.basics.units import in_unit
from whywire.engine.running.chain import World
from whywire.engine.running.job import read_job

EDITIONS = ("2017", "2020", "2023", "2026")


@cache
def knowledge(edition: str):
    """The base pack of one edition."""
    return load(edition=edition)


class OneCircuit:
    """*circuit* with *changes* made to it (`conductors__size="6 AWG"` is the size of its
    conductors), run.
    """

    def __init__(self, circuit: dict, edition: str = "2023", job: dict | None = None, **changes):
        told = copy.deepcopy(circuit)
        for path, value in changes.items():
            *way, last = (name.replace("_", " ") for name in path.split("__"))
            part = told
            for name in way:
                part = part[name]
            part[last] = value
        body = {"building": "one-family dwelling", "circuits": {"one": told}, **(job or {})}
        self.k = knowledge(edition)
        self.w = World(self.k, read_job(body, self.k)).run()

    def says(self, rule: str) -> str:
        """What *rule* answers of the things of the job: of the circuit and its parts there is one
        each.
        """
        if rule not in self.k.rules:
            return "not in force"
        found = self.k.rules[rule]
        answers = {self.w.answer(found, x) for x in self.w.targets(found.about, "")}
        answers = answers - {"does not apply"} or {"does not apply"}
        assert len(answers) == 1, answers
        return answers.pop()

    def source(self, rule: str) -> str:
        """The sections *rule* is cited by in this edition."""
        found = self.k.rules[rule]
        return str(found.section(self.k.edition, self.w.targets(found.about, "")[0]))

    def fact(self, thing: str, name: str):
        """A number in the fact's own unit, or the word; none where it is not known."""
        x = self.w.things[thing]
        word = self.k.words.kinds[x[0].kind].words[name]
        value = x[word.slot]
        return value if word.unit is None or value is None else in_unit(value, word.unit)

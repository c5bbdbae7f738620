"""A quiz as two players of QTI 3.0 by others ask it and score it: the points there are the points
here, for the key, for all that is wrong, and for every choice of options.

Both are general players of the open standard, pinned in package.json: qti3-item-player, certified
for delivery by the standard's own body, whose options are clicked; and qti-components, which asks
the whole test, and can be told an order. Neither adds up a test by its outcome processing, so the
points of its items are added up here. The standard's schemas are in no package that could be had:
what the files hold is tried in tests/quiz/test_qti.py, against what was written from memory.
"""

from __future__ import annotations

import io
import re
import zipfile
from dataclasses import replace
from itertools import combinations
from types import SimpleNamespace

import pytest

from whywire.engine.running.cache import load
from whywire.engine.teaching.beliefs import read_beliefs
from whywire.engine.teaching.instances import Maker
from whywire.engine.teaching.models import read_models
from whywire.engine.teaching.points import points
from whywire.engine.teaching.qti import package
from whywire.engine.teaching.quiz import (
    asks_for_an_order,
    key_places,
    make,
    picks_several,
    right,
)

KINDS = ("asks", "judges", "findings", "missing", "order", "mends")
EACH = 3
NUMBER = EACH * len(KINDS)
HOST = "http://paper.test/"
# a player may keep three digits of a third of a point
NEAR = 0.001

MOUNTED = """() => new Promise(ready => {
  const host = document.body.appendChild(document.createElement('div'));
  window.heard = {};
  const hear = name => data => heard[name] && heard[name](data);
  new Vue({render: make => make(qti3Player, {on: {
    notifyQti3PlayerReady: player => { window.player = player; ready() },
    notifyQti3ItemReady: hear('ready'),
    notifyQti3EndAttemptCompleted: hear('ended'),
  }})}).$mount(host);
})"""
# one that is there already is not loaded again: a comment makes each another
LOADED = """xml => new Promise((done, failed) => {
  heard.ready = () => done();
  setTimeout(() => failed(new Error('not ready')), 15000);
  const once = String(Math.random());
  const sessionControl = {max_attempts: 0, show_feedback: true, validate_responses: false};
  player.loadItemFromXml(
    `${xml}<!-- ${once} -->`, {guid: once, status: 'interacting', sessionControl});
})"""
ENDED = """() => new Promise((done, failed) => {
  setTimeout(() => failed(new Error('not ended')), 15000);
  heard.ended = data => done(Object.fromEntries(
    data.state.outcomeVariables.map(each => [each.identifier, each.value])));
  player.endAttempt('end');
})"""
# an item of the test, found where the player put it, once all its variables are there; the first is
# loaded at the start and again when it is gone to, so one counts that has stayed for some looks
ASKED = """async name => {
  const test = document.querySelector('qti-test');
  test.navigateTo('item', name);
  const find = root => {
    for (const each of root.querySelectorAll('*')) {
      if (each.localName === 'qti-assessment-item' && each.getAttribute('identifier') === name)
        return each;
      const below = each.shadowRoot && find(each.shadowRoot);
      if (below) return below;
    }
  };
  const known = item => item && ['RESPONSE', 'SCORE', 'MAXSCORE', 'ANSWERED'].every(
    wanted => item.variables.some(each => each.identifier === wanted))
    && item.querySelector('qti-response-processing').process;
  let stayed = 0;
  for (let tries = 0; tries < 400; tries++) {
    const there = find(document);
    stayed = known(there) && there === window.item ? stayed + 1 : 0;
    window.item = there;
    if (stayed === 5) return true;
    await new Promise(soon => setTimeout(soon, 25));
  }
  return false;
}"""
# what is told is shown a moment later: it is waited for, and for no longer than two seconds
ANSWERED = """async ([chosen, wanted]) => {
  let got, told;
  if (!item.isConnected) throw new Error('the item was loaded anew');
  for (let tries = 0; tries < 200; tries++) {
    item.resetResponses();
    item.updateResponseVariable('RESPONSE', chosen);
    item.processResponse();
    await new Promise(soon => setTimeout(soon, 10));
    got = Object.fromEntries(item.variables.map(each => [each.identifier, each.value]));
    told = [...item.querySelectorAll('qti-modal-feedback')]
      .filter(each => each.showStatus === 'on').map(each => each.getAttribute('identifier'));
    if (told.sort().join() === wanted) break;
  }
  return [Number(got.SCORE), Number(got.MAXSCORE), told];
}"""


@pytest.fixture(scope="module")
def paper():
    """A quiz, and the files of its package."""
    knowledge = load()
    maker = Maker(knowledge, read_beliefs())
    law = {"edition": "2023", "packs": [], "digest": knowledge.digest}
    models = read_models(knowledge)
    # some of each kind, whatever questions come to be
    parts = [make(maker, models, EACH, 3, law, kinds=(kind,)) for kind in KINDS]
    quiz = replace(parts[0], questions=[q for part in parts for q in part.questions])
    with zipfile.ZipFile(io.BytesIO(package(maker, quiz))) as archive:
        files = {name: archive.read(name).decode() for name in archive.namelist()}
    return SimpleNamespace(questions=quiz.questions, files=files)


def a_page(browser, *scripts):
    """A page with the scripts of a player in it."""
    page = browser.new_page()
    page.set_default_timeout(20_000)
    page.route("**/*", lambda route: route.fulfill(body="<!DOCTYPE html><body></body>"))
    page.goto(HOST)
    for script in scripts:
        page.add_script_tag(path=script)
    return page


@pytest.fixture
def clicked(browser, brought):
    """The player whose options are clicked."""
    player = brought("qti3-item-player/dist/qti3Player.umd.min.js")
    page = a_page(browser, brought("vue/dist/vue.min.js"), player)
    page.evaluate(MOUNTED)
    yield page
    page.close()


@pytest.fixture
def asked(browser, brought, paper):
    """The player that asks the whole test, open at its test."""
    page = a_page(browser, brought("@citolab/qti-components/cdn/index.global.js"))

    def give(route):
        name = route.request.url.removeprefix(HOST)
        route.fulfill(body=paper.files[name], content_type="text/xml")

    page.route(HOST + "*.xml", give)
    page.evaluate(
        '() => { document.body.innerHTML = \'<qti-test navigate="item"><test-navigation>'
        '<test-container test-url="/test.xml"></test-container></test-navigation></qti-test>\' }'
    )
    page.wait_for_function("() => document.querySelector('qti-test').testContext?.items.length")
    yield page
    page.close()


def choices(question):
    """The places of every answer that is tried: all sets of all that apply; one option, each; the
    order, and each with two neighbours swapped.
    """
    places = range(len(question.options))
    if asks_for_an_order(question):
        key = key_places(question)
        swapped = [[*key[:i], key[i + 1], key[i], *key[i + 2 :]] for i in places[:-1]]
        return [key, *swapped]
    if picks_several(question):
        sizes = range(1, len(question.options) + 1)
        return [list(some) for size in sizes for some in combinations(places, size)]
    return [[place] for place in places]


def as_said(question, chosen):
    """Options as a response names them: one alone, or a list."""
    names = [f"O{place + 1}" for place in chosen]
    return names if picks_several(question) or asks_for_an_order(question) else names[0]


def to_be_told(question, chosen, file):
    """What is to be told of an answer: wrong options that were chosen, right ones that were not and
    of which there is something to tell; and why.
    """
    there = set(re.findall(r'outcome-identifier="CHOSEN" identifier="O(\d)"', file))
    told = {f"O{n}" for n in there if (int(n) - 1 in right(question)) is not (int(n) - 1 in chosen)}
    return told | {"why"}


def test_every_choice_is_worth_there_what_it_is_here(asked, paper):
    """Also all right is the whole number of points, and all wrong none."""
    tried, most_there, all_right, all_wrong = 0, 0, 0, 0
    for number, question in enumerate(paper.questions, 1):
        assert asked.evaluate(ASKED, f"q{number}"), number
        worths = []
        for chosen in choices(question):
            where = (question.name, chosen)
            wanted = to_be_told(question, chosen, paper.files[f"q{number}.xml"])
            said = [as_said(question, chosen), ",".join(sorted(wanted))]
            score, most, told = asked.evaluate(ANSWERED, said)
            assert score == pytest.approx(float(points(question, chosen)), abs=NEAR), where
            assert most == 1, where
            assert set(told) == wanted, where
            worths.append(score)
            if chosen == key_places(question):
                all_right += score
        most_there += most
        all_wrong += min(worths)
        tried += len(worths)
    assert (all_right, all_wrong, most_there) == (NUMBER, 0, NUMBER)
    assert tried > 4 * NUMBER
    kinds = {question.model.kind for question in paper.questions}
    assert {"order", "findings", "asks"} <= kinds
    worth = {points(q, chosen) for q in paper.questions for chosen in choices(q)}
    assert worth - {0, 1}, "no part of a point was tried"


def test_options_that_are_clicked(clicked, paper):
    """Each single option, and the key."""
    for number, question in enumerate(paper.questions, 1):
        file = paper.files[f"q{number}.xml"]
        for chosen in [*([place] for place in range(len(question.options))), key_places(question)]:
            clicked.evaluate(LOADED, file)
            if asks_for_an_order(question):
                # untouched: the options as they stand
                chosen = [*range(len(question.options))]
            else:
                for place in chosen:
                    clicked.locator(f"[data-identifier=O{place + 1}]").click()
            got = clicked.evaluate(ENDED)
            where = (question.name, chosen)
            assert got["SCORE"] == pytest.approx(float(points(question, chosen)), abs=NEAR), where
            assert got["MAXSCORE"] == 1 and got["ANSWERED"] == "why", where


def test_a_key_that_is_another_is_found_out(asked, paper):
    """What compares the points can fail."""
    number, question = next(
        (n, q)
        for n, q in enumerate(paper.questions, 1)
        if not picks_several(q) and not asks_for_an_order(q)
    )
    name = f"q{number}.xml"
    key = f"O{key_places(question)[0] + 1}"
    other = "O2" if key == "O1" else "O1"
    was = paper.files[name]
    paper.files[name] = was.replace(f"<qti-value>{key}<", f"<qti-value>{other}<")
    try:
        assert asked.evaluate(ASKED, f"q{number}")
        assert asked.evaluate(ANSWERED, [key, "why"])[0] == 0
        assert asked.evaluate(ANSWERED, [other, "why"])[0] == 1
    finally:
        paper.files[name] = was

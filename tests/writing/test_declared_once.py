"""A form is declared once: a key that it has is read, explained and in the schema; any other is
refused by each.
"""

import pytest

from whywire.engine.basics.errors import Collector
from whywire.engine.basics.forms import LISTED, OTHER, Form, Key
from whywire.engine.basics.reading import read_yaml
from whywire.engine.language import forms
from whywire.engine.language.knowledge import value_in
from whywire.engine.law import forms as of_packs
from whywire.engine.law.library import Library
from whywire.engine.law.verbs.registry import EVERY
from whywire.engine.writing.schema import pack_schema

FORMS = {
    "rule": forms.RULE,
    "answers": forms.ANSWERS,
    "value": forms.VALUE,
    "table": forms.TABLE,
    "action": forms.ACTION,
}
LIBRARY = Library(())
MATERIAL = LIBRARY.material("2023", None)
VALUE = "{value: growth, is: 3 %, practice: a guess, harvest: [none]}"


def made() -> dict:
    """The schema of packs, of the vocabulary as it is."""
    return pack_schema(LIBRARY, MATERIAL)


def refused(text) -> list[str]:
    """The faults of a value with a key that no value has."""
    faults = Collector()
    value_in(read_yaml(text, "growth.yaml"), "2023", faults)
    return [str(fault) for fault in faults.items]


def test_a_key_that_no_form_has_is_refused_and_in_no_schema():
    (said,) = refused(VALUE)
    assert 'growth.yaml:1:45: a value takes no "harvest"' in said
    assert "harvest" not in made()["$defs"]["value"]["properties"]


def test_to_declare_a_key_is_enough(monkeypatch):
    monkeypatch.setitem(forms.VALUE, "harvest", Key("What is brought in.", LISTED))
    assert refused(VALUE) == []
    said = made()["$defs"]["value"]["properties"]["harvest"]
    assert said["description"] == "What is brought in." and "array" in said["type"]


@pytest.mark.parametrize("name", FORMS)
def test_the_schema_has_the_keys_of_the_form_in_its_order(name):
    properties = made()["$defs"][name]["properties"]
    assert [*properties] == [*FORMS[name]]
    assert {k: v["description"] for k, v in properties.items()} == {
        k: key.about for k, key in FORMS[name].items()
    }


def test_every_key_is_explained():
    every = [*FORMS.values(), forms.WORD, forms.EXAMPLE, of_packs.HEAD, of_packs.EDIT]
    for form in every:
        assert [name for name, key in form.items() if not key.about] == []


def test_a_verb_takes_keys_that_are_declared():
    for verb in EVERY:
        assert {*verb.takes} <= {*forms.RULE, *of_packs.EDIT}, verb.name


def test_a_key_whose_form_the_schema_does_not_know_is_no_loose_one(monkeypatch):
    monkeypatch.setitem(forms.VALUE, "harvest", Key("What is brought in.", OTHER))
    with pytest.raises(KeyError):
        made()


def test_a_near_miss_is_told_the_key_that_is_meant():
    form = Form("a crate takes no", "crate-key", {"lid": Key("What closes it.")})
    fault = form.fault("lidd", of="crate 7")
    assert fault.what == 'crate 7: a crate takes no "lidd"' and "lid" in fault.todo

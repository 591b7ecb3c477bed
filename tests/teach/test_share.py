"""States as links, files and Python: there and back, and what is refused."""

import importlib
import json
import pkgutil
from dataclasses import fields, is_dataclass
from urllib.parse import quote

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook import teach
from oximetry_workbook.body.quantities import Quantity
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.teach.late_news import LateNews
from oximetry_workbook.teach.share import (
    LONGEST_FILE,
    LONGEST_LINK,
    is_link,
    json_text,
    link_text,
    panel_name,
    python_text,
    read_json,
    read_link,
    shared_fields,
)

SICK = Scenario(arterial_saturation=0.8, site="ear", dye="methylene blue")
LINK = "show=Scenario&version=1&arterial_saturation=0.8&site=ear&dye=methylene%20blue"


def is_state(kind):
    """Whether this is a class of states: every field of it is a quantity or a choice."""
    return (
        isinstance(kind, type)
        and is_dataclass(kind)
        and bool(fields(kind))
        and all("spec" in each.metadata for each in fields(kind))
    )


def state_classes():
    found = {Scenario}
    for module in pkgutil.iter_modules(teach.__path__, "oximetry_workbook.teach."):
        if not module.ispkg:
            found |= {
                each
                for each in vars(importlib.import_module(module.name)).values()
                if is_state(each)
            }
    return sorted(found, key=lambda kind: kind.__name__)


STATES = state_classes()
every_state = pytest.mark.parametrize("kind", STATES, ids=lambda kind: kind.__name__)


def values_of(spec):
    if not isinstance(spec, Quantity):
        return st.sampled_from(spec.options)
    if spec.whole:
        return st.integers(int(spec.low), int(spec.high)).map(float)
    return st.floats(spec.low, spec.high)


@st.composite
def states(draw, kind):
    """A state with a few fields changed; the defaults where these do not fit together."""
    some = st.sets(st.sampled_from(sorted(shared_fields(kind))), max_size=4)
    given_fields = {name: draw(values_of(shared_fields(kind)[name])) for name in draw(some)}
    try:
        return kind(**given_fields)
    except ValueError:
        return kind()


def message_of(read, text, kind=Scenario):
    with pytest.raises(ValueError, match=r".") as caught:
        read(text, kind)
    return str(caught.value)


def test_there_are_as_many_states_as_panels_with_sliders_at_least():
    assert len(STATES) > 15
    assert len({panel_name(kind) for kind in STATES}) == len(STATES)


@every_state
@settings(deadline=None, max_examples=30)
@given(data=st.data())
def test_there_and_back(kind, data):
    state = data.draw(states(kind))
    assert read_link(link_text(state), kind) == state
    assert read_json(json_text(state), kind) == state
    assert eval(python_text(state), {kind.__name__: kind}) == state
    assert is_link(link_text(state), kind)
    assert len(link_text(state)) <= LONGEST_LINK


def test_a_link_is_readable_by_eye_and_says_only_what_differs():
    assert link_text(SICK) == LINK
    assert link_text(Scenario()) == "show=Scenario&version=1"
    assert python_text(SICK) == (
        "Scenario(arterial_saturation=0.8, site='ear', dye='methylene blue')"
    )
    assert json.loads(json_text(SICK))["fields"] == {
        "arterial_saturation": 0.8,
        "site": "ear",
        "dye": "methylene blue",
    }


def test_a_link_is_taken_by_its_own_panel_only():
    assert is_link(LINK, Scenario)
    assert not is_link(LINK, LateNews)
    for foreign in ("", "where-it-misleads", "x=1&y=2", "%%%", "show=Scenari"):
        assert not is_link(foreign, Scenario)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("x", "the link is damaged"),
        ("show=Scenario&version=1&site=%ff", "the link is damaged"),
        (LINK + "&site=ear", "says the same thing twice"),
        (LINK + "&" + "x" * LONGEST_LINK, "characters; at most"),
        ("show=LateNews&version=1", "it is for the panel 'LateNews'; this one is Scenario"),
        ("show=Scenario", "its version is None"),
        ("show=Scenario&version=2", "its version is '2'; this workbook reads 1"),
        (LINK + "&colour=red", "unknown field 'colour'"),
        (LINK + "&version1=", "unknown field 'version1'"),
        (LINK.replace("0.8", "80"), "write 0.8 for 80 %"),
        (LINK.replace("0.8", "nan"), "arterial_saturation is nan"),
        (LINK.replace("0.8", ""), "arterial_saturation is ''; it must be a number"),
        (LINK.replace("0.8", quote("0,8")), "arterial_saturation is '0,8'"),
        (LINK.replace("ear", "toe"), "site is 'toe'; allowed are finger"),
    ],
)
def test_a_bad_link_is_refused_with_the_reason(text, said):
    assert said in message_of(read_link, text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "not readable JSON text"),
        ("[" * 10_000, "not readable JSON text"),
        (" " * (LONGEST_FILE + 1), "characters; at most"),
        ("[]", "holds no state"),
        ("{}", "holds no state"),
        (json_text(SICK).replace("Scenario", "LateNews"), "it is for the panel 'LateNews'"),
        (json_text(SICK).replace('"schema": 1', '"schema": 2'), "its version is 2"),
        (json_text(SICK).replace('"schema": 1', '"schema": true'), "its version is True"),
        (json_text(SICK).replace("0.8", '"0.8"'), "it must be a number"),
        (json_text(SICK).replace('"ear"', '["ear"]'), "site is ['ear']"),
        (json_text(SICK).replace('"site"', '"place"'), "unknown field 'place'"),
        ('{"kind": "oximetry panel", "schema": 1, "panel": "Scenario", "fields": 3}', "fields"),
    ],
)
def test_a_bad_file_is_refused_with_the_reason(text, said):
    assert said in message_of(read_json, text)


@settings(deadline=None, max_examples=500)
@given(st.data())
def test_a_spoilt_link_or_file_is_refused_or_read_never_a_crash(data):
    text, read = data.draw(st.sampled_from([(LINK, read_link), (json_text(SICK), read_json)]))
    at = data.draw(st.integers(0, len(text) - 1))
    put = data.draw(st.text(max_size=3))
    spoilt = data.draw(
        st.sampled_from([text[:at] + put, text[at:], text[:at] + put + text[at + 1 :]])
    )
    refusal = ""
    try:
        state = read(spoilt, Scenario)
    except ValueError as error:
        state, refusal = None, str(error)
    assert isinstance(state, Scenario) != bool(refusal)


@settings(deadline=None, max_examples=200)
@given(st.text(max_size=200))
def test_any_text_after_the_hash_is_either_no_link_or_gets_a_message(text):
    if not is_link(text, Scenario):
        with pytest.raises(ValueError, match=r"."):
            read_link(text, Scenario)

"""A state to take along: link, file, line of Python; and what comes in by them."""

import importlib
import json
from dataclasses import replace

import ipywidgets as widgets
import pytest

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.panels.bench import Bench
from oximetry_workbook.panels.browser import CopyField
from oximetry_workbook.panels.share import BETWEEN
from oximetry_workbook.panels.state_panel import StatePanel
from oximetry_workbook.panels.wrong_light import STATES, WrongLight
from oximetry_workbook.teach.bench_state import BenchState
from oximetry_workbook.teach.late_news import LateNews
from oximetry_workbook.teach.reading import CURVE_NAMES
from oximetry_workbook.teach.share import json_text, link_text, shared_fields

showing = importlib.import_module("oximetry_workbook.panels.show")

SICK = BenchState(arterial_saturation=0.8, site="ear", curve=CURVE_NAMES[1])
PAGE = "http://127.0.0.1:8866/voila/render/06_bench.ipynb"


class Seen:
    """A view that keeps what it was shown."""

    def __init__(self, _):
        self.widget = widgets.HTML()

    def show(self, state):
        self.state = state


@pytest.fixture
def bench():
    return Bench()


@pytest.fixture
def panel():
    return StatePanel(LateNews(), lambda notice: (Seen(notice),))


def copy_fields(share):
    return [each for each in share.box.children if isinstance(each, CopyField)]


def test_a_link_opens_its_state_on_the_bench(bench):
    bench.share.address.fragment = link_text(SICK)
    assert bench.model.scenario == SICK.scenario
    assert bench.model.curve == SICK.curve
    assert bench.notice.value == ""


def test_the_page_can_always_come_back_to_the_present_state(bench):
    bench.model.scenario = Scenario(site="ear")
    assert bench.share.address.state == link_text(BenchState(site="ear"))
    bench.model.reset()
    assert bench.share.address.state == link_text(BenchState())


def test_of_several_states_in_a_link_each_panel_takes_its_own(bench, panel):
    late = replace(LateNews(), averaging_s=4.0)
    link = BETWEEN.join([link_text(late), link_text(SICK)])
    bench.share.address.fragment = panel.share.address.fragment = link
    assert bench.model.scenario == SICK.scenario
    assert panel.model.state == late


@pytest.mark.parametrize("fragment", ["", "where-it-misleads", "show=LateNews&version=1"])
def test_what_is_meant_for_others_is_left_alone(bench, fragment):
    bench.share.address.fragment = fragment
    assert bench.model.scenario == Scenario()
    assert bench.notice.value == ""


@pytest.mark.parametrize(
    ("fragment", "said"),
    [
        ("show=BenchState&version=9", "version is &#x27;9&#x27;"),
        ("show=BenchState&version=1&arterial_saturation=80", "write 0.8 for 80"),
        ("show=BenchState&version=1&x", "damaged"),
        ("show=BenchState&version=1&carboxyhaemoglobin=0.6&methaemoglobin=0.6", "add up to 1.2"),
    ],
)
def test_a_bad_link_is_told_and_the_panel_stays(bench, fragment, said):
    bench.share.address.fragment = fragment
    assert said in bench.notice.value.replace("\N{NO-BREAK SPACE}", " ")
    assert bench.model.scenario == Scenario()


def test_fields_are_made_when_first_asked_for_and_follow_the_state(bench):
    assert bench.share.box.children == ()
    bench.share.toggle.value = True
    link, line = copy_fields(bench.share)
    bench.share.address.page = PAGE
    bench.model.scenario = SICK.scenario
    assert link.text == f"{PAGE}#{link_text(BenchState.of(SICK.scenario))}"
    shown = {}
    exec(line.text.rsplit("; ", 1)[0], shown)
    assert isinstance(eval(line.text.rsplit("; ", 1)[1], shown), widgets.VBox)


def test_folded_again_nothing_is_written(bench):
    bench.share.toggle.value = True
    bench.share.toggle.value = False
    link, _ = copy_fields(bench.share)
    before = link.text
    bench.model.scenario = SICK.scenario
    assert link.text == before
    assert "ow-folded" in bench.share.box._dom_classes


def test_a_file_brings_a_state_and_a_bad_one_is_told(panel, hand_over):
    panel.share.toggle.value = True
    *_, files = panel.share.box.children
    upload = files.children[1]
    late = replace(LateNews(), averaging_s=16.0)
    hand_over(upload, json_text(late).encode())
    assert panel.model.state == late
    hand_over(upload, b"\xff\xfe")
    assert "not text" in panel.notice.value
    hand_over(upload, json.dumps({"kind": "x"}).encode())
    assert "holds no state" in panel.notice.value
    assert panel.model.state == late


@pytest.mark.parametrize("kind", STATES, ids=lambda kind: kind.__name__)
def test_a_link_brings_the_right_one_of_three_panels_into_view(kind):
    three = WrongLight()
    three.address.fragment = link_text(kind())
    assert three.chooser.value == STATES[kind]


@pytest.mark.parametrize("kind", showing.PANELS, ids=lambda kind: kind.__name__)
def test_every_state_is_shown_in_its_panel_by_a_line_of_python(kind):
    """The panel holds the state that was given: it is what the page would come back to."""
    state = changed(kind)
    panel = showing.show(state)
    kept = {each.state for each in inside(panel) if type(each).__name__ == "PageAddress"}
    expected = BenchState.of(state) if kind is Scenario else state
    assert link_text(expected) in kept


def changed(kind):
    """A state with its first number at the lower end, or at the upper if it is there already."""
    name, spec = next((n, s) for n, s in shared_fields(kind).items() if hasattr(s, "low"))
    usual = getattr(kind(), name)
    return replace(kind(), **{name: spec.low if usual != spec.low else spec.high})


def inside(widget):
    yield widget
    for child in getattr(widget, "children", ()):
        yield from inside(child)


def test_what_is_no_state_is_refused():
    with pytest.raises(ValueError, match="int is no state of a panel; these are: Scenario, "):
        showing.show(3)

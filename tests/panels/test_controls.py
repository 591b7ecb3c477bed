"""Controls: bounds from the one spec, values kept as typed, the browser's snapping ignored."""

import math
from types import SimpleNamespace

import ipywidgets as widgets
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.quantities import Choice, Quantity
from oximetry_workbook.body.scenario import SPECS
from oximetry_workbook.panels.controls import ChoiceControl, Looks, QuantityControl, controls_for

QUANTITIES = {name: spec for name, spec in SPECS.items() if isinstance(spec, Quantity)}
CHOICES = {name: spec for name, spec in SPECS.items() if isinstance(spec, Choice)}
PLAIN = {name: spec for name, spec in QUANTITIES.items() if not spec.logarithmic}
LOGARITHMIC = {name: spec for name, spec in QUANTITIES.items() if spec.logarithmic}

every_quantity = pytest.mark.parametrize("name", QUANTITIES)


class Panel:
    """A control and the state it writes, without anything else.

    Attributes:
        state: Holds the one field.
        set: What was written, oldest first.
    """

    def __init__(self, name, value):
        self.name, self.set = name, []
        self.control = controls_for({name: SPECS[name]}, self._changed)[name]
        self.state = SimpleNamespace(**{name: value})
        self.control.show(self.state)

    def _changed(self, name, value):
        self.set.append(value)
        self.state = SimpleNamespace(**{name: SPECS[name].checked(name, value)})
        self.control.show(self.state)

    @property
    def value(self):
        return getattr(self.state, self.name)

    def snap(self):
        """Do what the browser does with a slider between two notches: to the nearest, and tell."""
        slider = self.control.slider
        logarithmic = isinstance(slider, widgets.FloatLogSlider)
        place = math.log10(slider.value) if logarithmic else slider.value
        notch = slider.min + round((place - slider.min) / slider.step) * slider.step
        notch = min(notch, slider.max)
        slider.value = slider.base**notch if logarithmic else notch


def scale(spec):
    return 100.0 if spec.fraction else 1.0


@pytest.fixture(scope="module", autouse=True)
def _closed():
    yield
    widgets.Widget.close_all()


@every_quantity
def test_the_number_field_has_the_bounds_of_the_spec(name):
    spec, number = SPECS[name], Panel(name, SPECS[name].low).control.number
    bounds = (scale(spec) * spec.low, scale(spec) * spec.high)
    assert (number.min, number.max) == pytest.approx(bounds, rel=1e-12)


@pytest.mark.parametrize("name", PLAIN)
def test_a_slider_has_bounds_and_step_of_the_spec(name):
    spec, slider = SPECS[name], Panel(name, SPECS[name].low).control.slider
    wanted = [scale(spec) * each for each in (spec.low, spec.high, spec.step)]
    assert [slider.min, slider.max, slider.step] == pytest.approx(wanted, rel=1e-12)


@pytest.mark.parametrize("name", LOGARITHMIC)
def test_a_logarithmic_slider_moves_in_equal_ratios_between_the_bounds(name):
    spec, slider = SPECS[name], Panel(name, SPECS[name].low).control.slider
    assert isinstance(slider, widgets.FloatLogSlider)
    ends = [slider.base**slider.min, slider.base**slider.max]
    assert ends == pytest.approx([spec.low, spec.high], rel=1e-12)
    assert slider.step == spec.step


@every_quantity
@pytest.mark.parametrize("end", ["low", "high"])
def test_a_slider_reaches_both_ends(name, end):
    spec = SPECS[name]
    panel = Panel(name, spec.high if end == "low" else spec.low)
    panel.control.slider.value = scale(spec) * getattr(spec, end)
    assert panel.value == pytest.approx(getattr(spec, end), rel=1e-9)
    assert panel.control.number.value == pytest.approx(scale(spec) * panel.value, rel=1e-9)


@pytest.mark.parametrize("name", [name for name in QUANTITIES if QUANTITIES[name].fraction])
def test_a_fraction_is_shown_and_set_in_percent(name):
    panel = Panel(name, 0.41)
    assert panel.control.unit == "%"
    assert (panel.control.slider.value, panel.control.number.value) == (41.0, 41.0)
    panel.control.slider.value = 43.0
    panel.control.number.value = 42.0
    assert panel.set == [0.43, 0.42]


@every_quantity
def test_label_and_unit_are_shown(name):
    label, number, unit = Panel(name, SPECS[name].low).control.widget.children[0].children
    assert label.value == SPECS[name].label
    assert isinstance(number, widgets.BoundedFloatText)
    assert f">{'%' if SPECS[name].fraction else SPECS[name].unit}<" in unit.value


@given(st.sampled_from(list(QUANTITIES)), st.data())
@settings(max_examples=150)
def test_a_typed_value_is_kept_although_the_browser_snaps_the_slider(name, data):
    spec = SPECS[name]
    ends = (scale(spec) * spec.low, scale(spec) * spec.high)
    typed = data.draw(st.integers(*map(int, ends)) if spec.whole else st.floats(*ends))
    panel = Panel(name, spec.low)
    panel.control.number.value = typed
    assert panel.value == pytest.approx(typed / scale(spec), rel=1e-9, abs=1e-12)
    kept = panel.value
    panel.snap()
    assert panel.value == kept
    assert panel.control.number.value == pytest.approx(typed, rel=0.0051, abs=1e-12)


@pytest.mark.parametrize("name", LOGARITHMIC)
def test_a_value_snapped_late_does_not_bring_an_earlier_state_back(name):
    spec = SPECS[name]
    panel = Panel(name, spec.low)
    snapped = []
    for share in (0.301, 0.702):  # between two notches
        value = spec.low * (spec.high / spec.low) ** share
        panel.control.show(SimpleNamespace(**{name: value}))
        place = math.floor(math.log10(spec.high / spec.low) * share / spec.step) * spec.step
        snapped.append(spec.low * 10.0**place)
    for late in snapped:
        panel.control.slider.value = late
    assert panel.set == []
    assert panel.control.slider.value == pytest.approx(value, rel=0.03)
    panel.control.slider.value = snapped[0]  # each is answered once: now it is a move
    assert panel.set == [pytest.approx(snapped[0], rel=0.0051)]


@given(st.sampled_from(list(QUANTITIES)), st.data())
@settings(max_examples=150)
def test_one_notch_is_a_move(name, data):
    spec = SPECS[name]
    panel = Panel(name, spec.low)
    slider = panel.control.slider
    notches = math.floor(round((slider.max - slider.min) / slider.step, 9))
    notch = data.draw(st.integers(0, notches - 1))
    places = [slider.min + k * slider.step for k in (notch, notch + 1)]
    before, after = (slider.base**p if spec.logarithmic else p for p in places)
    slider.value = before
    slider.value = after
    assert panel.value == pytest.approx(after / scale(spec), rel=0.0051, abs=1e-12)


@every_quantity
def test_showing_a_state_writes_nothing_back(name):
    panel = Panel(name, SPECS[name].high)
    for value in (SPECS[name].low, SPECS[name].high):
        panel.control.show(SimpleNamespace(**{name: value}))
    assert panel.set == []


def test_a_refused_value_does_not_stay_on_screen():
    name = "carboxyhaemoglobin"
    control = QuantityControl(name, SPECS[name], lambda *_: None, Looks())
    control.show(SimpleNamespace(**{name: 0.1}))
    control.number.value = 60.0
    assert (control.number.value, control.slider.value) == (10.0, 10.0)
    control.slider.value = 60.0
    assert (control.number.value, control.slider.value) == (10.0, 10.0)


@pytest.mark.parametrize("name", CHOICES)
def test_a_choice_offers_the_options_and_sets_the_chosen_word(name):
    first, *_, last = SPECS[name].options
    panel = Panel(name, first)
    assert isinstance(panel.control, ChoiceControl)
    dropdown = panel.control.dropdown
    assert tuple(word for _, word in dropdown.options) == SPECS[name].options
    assert all(shown.lower() == word.lower() for shown, word in dropdown.options)
    dropdown.value = last
    assert panel.set == [last]
    panel.control.show(SimpleNamespace(**{name: first}))
    assert dropdown.value == first

"""The panels of wrong light: each control moves what it should, in few messages."""

from collections import Counter

import numpy as np
import pytest

from oximetry_workbook.body.quantities import Choice, specs_of
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.wrong_light import (
    PANELS,
    WrongLight,
    led_panel,
    past_the_tissue_panel,
    room_light_panel,
    wrong_light,
)
from oximetry_workbook.teach.wrong_light_words import (
    close_up_sentence,
    errors_sentence,
    filter_sentence,
    folding_sentence,
    seen_sentence,
    shares_sentence,
    spectra_sentence,
)

MOST_BYTES = 60_000

ROOM = {
    "ambient_light_percent": (20.0, {"seen", "flicker", "samples"}),
    "mains_frequency_hz": (50.4, {"seen", "flicker", "samples", "spot"}),
    "sampling_rate_hz": (101.0, {"seen", "samples", "rule", "spot"}),
    "arterial_saturation": (80.0, {"seen"}),
    "perfusion_index_percent": (8.0, {"seen"}),
}
PAST = {
    "bypass_percent": (30.0, {"shares", "errors", "now"}),
    "varnish": ("green", {"varnish", "behind", "errors", "now"}),
    "varnish_coats": (3.0, set()),
    "arterial_saturation": (70.0, {"now"}),
    "perfusion_index_percent": (15.0, {"errors", "now"}),
}
LEDS = {
    "red_peak_nm": (670.0, {"leds", "errors", "now"}),
    "infrared_peak_nm": (925.0, {"leds", "errors", "now"}),
    "led_temperature_c": (60.0, {"leds", "errors", "now"}),
    "arterial_saturation": (70.0, {"now"}),
}
"""A place to move each control to, and the marks that must follow. A bare nail has no coats, and
its errors are there for every saturation at once."""


def room_marks(panel):
    seen, close_up, folding, _ = panel.views
    return {
        "seen": [array for line in seen.lines for array in (line.x, line.y)],
        "flicker": [close_up.flicker.y],
        "samples": [close_up.samples.x, close_up.samples.y],
        "rule": [folding.rule.y],
        "spot": [folding.spot.x, folding.spot.y],
    }


def past_marks(panel):
    varnish, shares, errors, _ = panel.views
    return {
        "varnish": [varnish.varnish.y],
        "behind": [line.y for line in varnish.behind],
        "shares": [shares.shares.y],
        **error_marks(errors),
    }


def led_marks(panel):
    leds, errors, _ = panel.views
    return {
        "leds": [array for line in leds.leds for array in (line.x, line.y)],
        **error_marks(errors),
    }


def error_marks(plot):
    return {"errors": [plot.errors.y], "now": [plot.spot.x, plot.spot.y]}


KINDS = {
    "room": (room_light_panel, ROOM, room_marks),
    "past": (past_the_tissue_panel, PAST, past_marks),
    "leds": (led_panel, LEDS, led_marks),
}
MOVES = [(kind, name) for kind, (_, moves, _) in KINDS.items() for name in moves]
every_move = pytest.mark.parametrize(("kind", "name"), MOVES)
LEAST_MOVE = 0.02
"""What the eye could see, in the units of each axis."""


def move(panel, wire, name, value):
    return wire.set(panel.controls[name], value)


def differ(before, after):
    return any(
        a.shape != b.shape or np.max(np.abs(a - b)) > LEAST_MOVE
        for a, b in zip(before, after, strict=True)
    )


@pytest.mark.parametrize("kind", KINDS)
def test_every_field_has_a_control_and_a_move_here(wire, kind):
    make, moves, _ = KINDS[kind]
    panel = make()
    assert set(panel.controls) == set(specs_of(panel.model.state)) == set(moves)


@every_move
def test_a_control_moves_the_marks_that_depend_on_it(wire, kind, name):
    make, moves, marks_of = KINDS[kind]
    panel = make()
    value, expected = moves[name]
    before = marks_of(panel)
    move(panel, wire, name, value)
    after = marks_of(panel)
    assert {mark for mark in before if differ(before[mark], after[mark])} == expected
    assert panel.notice.value == ""


@every_move
def test_words_are_those_of_the_state(wire, kind, name):
    make, moves, _ = KINDS[kind]
    panel = make()
    move(panel, wire, name, moves[name][0])
    state = panel.model.state
    said = {
        "room": lambda: (seen_sentence(state), close_up_sentence(state), folding_sentence(state)),
        "past": lambda: (
            filter_sentence(state),
            shares_sentence(state),
            errors_sentence(state.errors),
        ),
        "leds": lambda: (spectra_sentence(state), errors_sentence(state.errors)),
    }[kind]()
    assert tuple(view.says.value for view in panel.views[:-1]) == tuple(map(html, said))


@every_move
def test_a_move_sends_each_mark_once_and_little(wire, kind, name):
    make, moves, _ = KINDS[kind]
    panel = make()
    sent = move(panel, wire, name, moves[name][0])
    counts = Counter((each.comm_id, frozenset(each.names)) for each in sent)
    assert max(counts.values()) == 1
    assert sum(each.size for each in sent) < MOST_BYTES


@every_move
def test_extremes_stay_on_their_axes_and_send_nothing_that_is_no_number(wire, kind, name):
    make, _, marks_of = KINDS[kind]
    panel = make()
    spec, control = specs_of(panel.model.state)[name], panel.controls[name]
    ends = spec.options if isinstance(spec, Choice) else (control.number.min, control.number.max)
    for end in ends:
        move(panel, wire, name, end)
        for arrays in marks_of(panel).values():
            assert all(array.size and np.all(np.isfinite(array)) for array in arrays)
        check_axes(kind, panel)
        assert panel.notice.value == ""


def check_axes(kind, panel):
    if kind == "room":
        seen, close_up, folding, _ = panel.views
        shown = [*seen.lines, close_up.flicker, close_up.samples, folding.rule, folding.spot]
    else:
        errors = panel.views[-2]
        shown = [mark for mark in (errors.errors, errors.spot) if mark.visible]
    for mark in shown:
        low, high = mark.scales["y"].min, mark.scales["y"].max
        assert low - 1e-6 <= mark.y.min() <= mark.y.max() <= high + 1e-6


def test_a_withheld_number_hides_its_marks_and_comes_back(wire):
    panel = past_the_tissue_panel()
    errors = panel.views[2]
    for name, value in (("varnish", "green"), ("varnish_coats", 4.0), ("bypass_percent", 10.0)):
        move(panel, wire, name, value)
    assert not errors.errors.visible
    assert not errors.spot.visible
    panel.reset()
    assert errors.errors.visible
    assert errors.spot.visible


def test_a_saturation_left_of_the_axis_has_no_mark(wire):
    panel = led_panel()
    move(panel, wire, "arterial_saturation", 50.0)
    assert not panel.views[1].spot.visible


def test_buttons_choose_a_panel_that_is_made_once(wire):
    whole = WrongLight()
    shown = {}
    for name in (*PANELS, *PANELS):
        whole.chooser.value = name
        shown.setdefault(name, whole.panel)
        assert whole.panel is shown[name]
        assert whole.widget.children[-1].children == (whole.panel.widget,)
    assert len(set(map(id, shown.values()))) == len(PANELS)
    assert whole.notice.value == ""


def test_what_is_exported_shows_the_room_first(wire):
    widget = wrong_light()
    assert widget.children[1].value == next(iter(PANELS))

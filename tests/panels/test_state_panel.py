"""The frame of a panel: controls write one state, views read it, a refusal changes nothing."""

from collections import Counter
from dataclasses import dataclass, replace

import ipywidgets as widgets
import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.body.quantities import check_fields, choice, quantity
from oximetry_workbook.panels.state_panel import StateModel, StatePanel


@dataclass(frozen=True)
class Cup:
    """An invented state with a rule between its fields."""

    full: float = quantity(0.5, 0.0, 1.0, "", "Full", 0.01, fraction=True)
    height_cm: float = quantity(10.0, 1.0, 100.0, "cm", "Height", 0.01, logarithmic=True)
    lid: str = choice("Lid", "off", "on")

    def __post_init__(self) -> None:
        check_fields(self)
        if self.lid == "on" and self.full > 0.8:
            raise ValueError("lid is on and full above 0.8; take the lid off or pour some out")


class Says:
    """A view that remembers what it was shown."""

    def __init__(self, notice):
        self.notice, self.seen = notice, []
        self.widget = widgets.HTML()

    def show(self, state):
        self.seen.append(state)
        self.widget.value = repr(state)


class Fails(Says):
    """A view that cannot draw a tall cup."""

    def show(self, state):
        if state.height_cm > 50.0:
            raise RuntimeError("deep inside")
        super().show(state)


MOVES = {"full": ("slider", 80.0, 0.8), "height_cm": ("slider", 20.0, 20.0)}
"""Where the browser puts a control, and what becomes of the field."""


def two_views(notice):
    return Says(notice), Says(notice)


@pytest.fixture
def panel(wire):
    return StatePanel(Cup(), two_views)


def values_of(panel):
    """What stands on the controls."""
    full, height, lid = panel.controls.values()
    return (
        full.slider.value,
        full.number.value,
        round(height.slider.value, 9),
        height.number.value,
        lid.dropdown.value,
    )


def reset_button(panel):
    [found] = [each for each in all_in(panel.widget) if getattr(each, "description", "") == "Reset"]
    return found


def all_in(widget):
    yield widget
    for child in getattr(widget, "children", ()):
        yield from all_in(child)


def test_it_starts_with_the_state_given_on_controls_and_views(panel):
    assert panel.model.state == Cup()
    assert values_of(panel) == (50.0, 50.0, 10.0, 10.0, "off")
    assert [view.seen for view in panel.views] == [[Cup()]] * 2
    assert panel.notice.value == ""


def test_it_may_start_elsewhere(wire):
    state = Cup(full=0.25, height_cm=40.0, lid="on")
    assert values_of(StatePanel(state, two_views)) == (25.0, 25.0, 40.0, 40.0, "on")


def test_all_is_on_the_page_and_views_get_the_notice(panel):
    shown = list(all_in(panel.widget))
    parts = [panel.notice, *(each.widget for each in (*panel.views, *panel.controls.values()))]
    assert all(part in shown for part in parts)
    assert all(view.notice is panel.notice for view in panel.views)
    assert "ow-panel" in panel.widget._dom_classes


def test_controls_can_be_fewer_than_fields_and_in_another_order(wire):
    panel = StatePanel(Cup(), two_views, ("lid", "full"))
    assert list(panel.controls) == ["lid", "full"]
    panel.model.set("height_cm", 20.0)
    assert panel.views[0].seen[-1].height_cm == 20.0


def test_an_unknown_field_is_refused(wire):
    with pytest.raises(KeyError, match="colour"):
        StatePanel(Cup(), two_views, ("colour",))


@pytest.mark.parametrize("part", ["slider", "number"])
@pytest.mark.parametrize(("name", "shown", "value"), [("full", 80.0, 0.8), ("height_cm", 20.0, 20)])
def test_a_control_writes_its_field_and_every_view_reads_it_once(
    panel, wire, name, shown, value, part
):
    wire.hear(getattr(panel.controls[name], part), value=shown)
    expected = replace(Cup(), **{name: value})
    assert panel.model.state == expected
    assert [view.seen for view in panel.views] == [[Cup(), expected]] * 2
    assert panel.controls[name].slider.value == pytest.approx(shown)
    assert panel.controls[name].number.value == shown


def test_a_choice_writes_its_field_and_every_view_reads_it_once(panel, wire):
    wire.hear(panel.controls["lid"].dropdown, index=1)
    assert [view.seen for view in panel.views] == [[Cup(), Cup(lid="on")]] * 2


def test_a_state_set_from_elsewhere_reaches_controls_and_views(panel):
    panel.model.state = Cup(full=0.25, height_cm=40.0, lid="on")
    assert values_of(panel) == (25.0, 25.0, 40.0, 40.0, "on")
    assert panel.views[1].seen[-1] == panel.model.state


def test_the_same_value_again_draws_nothing(panel, wire):
    panel.model.set("full", 0.5)
    sent = wire.hear(panel.controls["full"].number, value=50.0)
    assert [each.method for each in sent] == ["echo_update"]
    assert len(panel.views[0].seen) == 1


@pytest.mark.parametrize("part", ["slider", "number"])
def test_a_refused_number_keeps_state_views_and_control(panel, wire, part):
    panel.model.state = Cup(lid="on")
    before = values_of(panel)
    sent = wire.hear(getattr(panel.controls["full"], part), value=90.0)
    assert panel.model.state == Cup(lid="on")
    assert panel.views[0].seen[-1] == Cup(lid="on")
    assert values_of(panel) == before
    assert "take the lid off or pour some out." in panel.notice.value
    back = [each for each in sent if each.method == "update" and "value" in each.names]
    assert getattr(panel.controls["full"], part).model_id in [each.comm_id for each in back]


def test_a_refused_choice_keeps_state_views_and_control(panel, wire):
    panel.model.state = Cup(full=0.9)
    dropdown = panel.controls["lid"].dropdown
    sent = wire.hear(dropdown, index=1)
    assert panel.model.state == Cup(full=0.9)
    assert (dropdown.value, dropdown.index) == ("off", 0)
    assert "take the lid off" in panel.notice.value
    back = [each for each in sent if each.method == "update" and "index" in each.names]
    assert [each.comm_id for each in back] == [dropdown.model_id]


def test_the_next_value_that_fits_takes_the_refusal_away(panel, wire):
    panel.model.state = Cup(full=0.9)
    wire.hear(panel.controls["lid"].dropdown, index=1)
    wire.hear(panel.controls["full"].number, value=70.0)
    assert panel.notice.value == ""
    wire.hear(panel.controls["lid"].dropdown, index=1)
    assert panel.model.state == Cup(full=0.7, lid="on")


@pytest.mark.parametrize(("typed", "kept"), [(150.0, 1.0), (-5.0, 0.0)])
def test_a_number_beyond_the_range_is_taken_to_its_end(panel, wire, typed, kept):
    wire.hear(panel.controls["full"].number, value=typed)
    assert panel.model.state.full == kept
    assert panel.controls["full"].number.value == 100.0 * kept


@pytest.mark.parametrize(
    ("name", "value"), [("full", 1.5), ("full", "much"), ("height_cm", 0.0), ("lid", "ajar")]
)
def test_the_model_refuses_by_name_and_stays(name, value):
    model = StateModel(state=Cup())
    with pytest.raises(ValueError, match=name):
        model.set(name, value)
    assert model.state == Cup()


@given(st.floats(0.0, 0.8), st.floats(1.0, 100.0), st.sampled_from(["off", "on"]))
def test_reset_goes_back_from_anywhere(full, height_cm, lid):
    panel = StatePanel(Cup(), two_views)
    before = values_of(panel)
    panel.model.state = Cup(full=full, height_cm=height_cm, lid=lid)
    reset_button(panel).click()
    assert panel.model.state == Cup()
    assert values_of(panel) == before
    assert panel.views[0].seen[-1] == Cup()
    widgets.Widget.close_all()


def test_reset_takes_a_refusal_away(panel, wire):
    panel.model.state = Cup(full=0.9)
    wire.hear(panel.controls["lid"].dropdown, index=1)
    reset_button(panel).click()
    assert panel.notice.value == ""
    assert panel.model.state == Cup()


@pytest.mark.parametrize("name", MOVES)
def test_a_move_sends_at_most_one_message_a_widget(panel, wire, name):
    part, shown, _ = MOVES[name]
    sent = wire.hear(getattr(panel.controls[name], part), value=shown)
    updates = Counter(each.comm_id for each in sent if each.method == "update")
    moved = (panel.controls[name].number, panel.share.address)
    wanted = {each.model_id for each in (*moved, *(view.widget for view in panel.views))}
    assert set(updates) == wanted
    assert set(updates.values()) == {1}


def test_a_choice_sends_at_most_one_message_a_widget(panel, wire):
    sent = wire.hear(panel.controls["lid"].dropdown, index=1)
    updates = Counter(each.comm_id for each in sent if each.method == "update")
    assert {view.widget.model_id for view in panel.views} <= set(updates)
    assert set(updates.values()) == {1}


def test_a_view_that_fails_is_told_and_the_panel_can_be_reset(wire):
    panel = StatePanel(Cup(), lambda notice: (Fails(notice),))
    wire.hear(panel.controls["height_cm"].number, value=60.0)
    assert "Something went wrong" in panel.notice.value
    assert "deep inside" not in panel.notice.value
    reset_button(panel).click()
    assert panel.notice.value == ""
    assert panel.views[0].seen[-1] == Cup()
    assert values_of(panel) == (50.0, 50.0, 10.0, 10.0, "off")

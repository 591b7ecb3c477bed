"""The bench's drawer of causes: everything that can make a number wrong, in groups."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import ipywidgets as widgets

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.panels import look
from oximetry_workbook.panels.controls import ChoiceControl, QuantityControl
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.tables import table
from oximetry_workbook.panels.work import Slices, Work
from oximetry_workbook.teach.situations import (
    SITUATIONS,
    Situation,
    doubt_row,
    standing,
)

Control = QuantityControl | ChoiceControl

METER = "Meter"
GROUPS: dict[str, tuple[str, ...]] = {
    "Pulse and site": (
        "site",
        "vasoconstriction",
        "irregularity_percent",
        "heart_rate_variability_percent",
        "breathing_rate_bpm",
    ),
    "Motion and veins": (
        "coupling_percent",
        "motion_percent",
        "venous_pulse",
        "venous_difference",
    ),
    "Light": (
        "ambient_light_percent",
        "mains_frequency_hz",
        "bypass_percent",
        "varnish",
        "varnish_coats",
        "red_peak_nm",
        "infrared_peak_nm",
        "led_temperature_c",
    ),
    "Blood": (
        "haemoglobin_g_per_l",
        "carboxyhaemoglobin",
        "methaemoglobin",
        "dye",
        "dye_mg_per_l",
    ),
    "Skin and tissue": (
        "melanin_fraction",
        "thickness_scale",
        "blood_volume_scale",
        "scattering_scale",
    ),
    METER: ("converter_bits", "extinction_table"),
}
"""Fields of a scenario by the link of the chain they touch; the bench's main controls apart."""

HOLDS = "✓ "
"""Put before the name of a situation that holds."""

HOW_TO_TRY = (
    "Situations to try. Each is put on top of what is set. To try one alone, press "
    "“Start from ordinary” before it."
)

TABLE_HEAD = ("Situation", "What you see", "Likely cause", "What people usually do")


class Group:
    """Controls under a heading that folds them; they are made when it is first opened.

    Attributes:
        toggle: The heading.
        widget: What to put on the page.
    """

    def __init__(
        self,
        title: str,
        fields: Sequence[str],
        controls: Mapping[str, Control],
        first: Sequence[widgets.Widget],
        notice: Notice,
    ) -> None:
        """Put `first`, which is there from the start, before the controls of the fields."""
        self._title, self._fields, self._controls = title, fields, controls
        self._first = tuple(first)
        self.toggle = widgets.ToggleButton(value=False, description=title)
        self.toggle.add_class("ow-group-top")
        self._body = widgets.VBox(self._first)
        self._body.add_class("ow-group")
        self._body.add_class("ow-folded")
        self.toggle.observe(notice.guard(self._fold), names="value")
        self.widget = widgets.VBox([self.toggle, self._body])

    def show(self, scenario: Scenario) -> None:
        """Say in the heading how many fields are not as they usually are."""
        changed = self.changed(scenario)
        self.toggle.description = f"{self._title}, {changed} changed" if changed else self._title

    def changed(self, scenario: Scenario) -> int:
        """Count the group's fields that differ from an ordinary scenario's."""
        return len(scenario.changes().keys() & set(self._fields))

    def _fold(self, change: dict[str, bool]) -> None:
        if change["new"] and self._body.children == self._first:
            controls = (self._controls[name].widget for name in self._fields)
            self._body.children = (*self._first, *controls)
        look.mark(self._body, "ow-folded", not change["new"])


class SituationButtons:
    """A button for each situation; those that hold are marked.

    Buttons and not a list: a list has a value, and news of it that comes late from the kernel
    would take back what was chosen meanwhile. A press has none, and is never lost.

    Attributes:
        buttons: The buttons by the situation's name.
        widget: What to put on the page.
    """

    def __init__(self, pressed: Callable[[Situation], None], notice: Notice) -> None:
        # one layout and one style for all, see `controls.Looks`
        shared = {"layout": widgets.Layout(), "style": widgets.ButtonStyle()}
        self.buttons = {
            each.name: widgets.Button(description=each.name, **shared) for each in SITUATIONS
        }
        for situation in SITUATIONS:
            press = notice.guard(lambda _, chosen=situation: pressed(chosen))
            self.buttons[situation.name].on_click(press)
        self.widget = widgets.HBox(list(self.buttons.values()))
        self.widget.add_class("ow-situations")

    def show(self, scenario: Scenario) -> None:
        """Mark the situations that hold."""
        for situation in SITUATIONS:
            button, holds = self.buttons[situation.name], situation.holds_in(scenario)
            button.description = f"{HOLDS}{situation.name}" if holds else situation.name
            (button.add_class if holds else button.remove_class)("ow-holds")


class CauseDrawer:
    """Situations to try, and every cause on its own.

    Attributes:
        groups: The groups by title.
        situations: The buttons of the situations.
        latest: The situation pressed last, as long as it holds.
        words: What is set now, and what the situation pressed last does.
        widget: What to put on the page.
    """

    def __init__(
        self,
        controls: Mapping[str, Control],
        meter: Sequence[widgets.Widget],
        try_situation: Callable[[Situation], None],
        start_over: Callable[[], None],
        notice: Notice,
    ) -> None:
        """Arrange the controls.

        Args:
            controls: Controls by field name, those of `GROUPS` among them.
            meter: More to set about the meter itself.
            try_situation: Called with a situation that somebody chose.
            start_over: Called to make everything ordinary, so that one can be tried alone.
            notice: Where to tell of a failure.
        """
        self._try, self._scenario = try_situation, Scenario()
        self.latest: Situation | None = None
        self.situations = SituationButtons(self._pressed, notice)
        self.words = widgets.HTML()
        self.words.add_class("ow-situation")
        self.groups = {
            title: Group(title, fields, controls, meter if title == METER else (), notice)
            for title, fields in GROUPS.items()
        }
        self.widget = self._arrange(notice.guard(lambda _: start_over()))

    def show(self, scenario: Scenario) -> None:
        """Mark what differs from an ordinary scenario; forget a situation that no longer holds."""
        self._scenario = scenario
        for group in self.groups.values():
            group.show(scenario)
        self.situations.show(scenario)
        if self.latest is not None and not self.latest.holds_in(scenario):
            self.latest = None
        self._tell()

    def _pressed(self, situation: Situation) -> None:
        self.latest = situation
        self._try(situation)
        self._tell()  # where it held already, nothing changed and nothing was shown

    def _tell(self) -> None:
        words = f"<p><strong>{html(standing(self._scenario, self.latest))}</strong></p>"
        if self.latest is not None:
            words += (
                f"<p>{html(self.latest.cause)}</p><p><em>Usually done:</em> "
                f"{html(self.latest.usual_response)} Local protocols decide.</p>"
            )
        self.words.value = words

    def _arrange(self, start_over: Callable[[widgets.Button], None]) -> widgets.VBox:
        start = widgets.Button(description="Start from ordinary")
        start.on_click(start_over)
        actions = widgets.HBox([start])
        actions.add_class("ow-actions")
        head = widgets.HTML(f"<p>{html(HOW_TO_TRY)}</p>")
        head.add_class("ow-situation")
        groups = [group.widget for group in self.groups.values()]
        drawer = widgets.VBox([head, actions, self.situations.widget, self.words, *groups])
        drawer.add_class("ow-more")
        return drawer


def doubts() -> widgets.VBox:
    """Show what is seen, what likely lies behind it, and what people usually do about it.

    The page need not wait for the readings: what is seen is filled in as it is read.
    """
    notice, shown = Notice(), widgets.HTML()
    rows = [(each.name, "…", each.cause, each.usual_response) for each in SITUATIONS]

    def show(found: Sequence[Sequence[str]]) -> None:
        shown.value = table(TABLE_HEAD, ([html(cell) for cell in row] for row in found))

    def read_each() -> Slices:
        for place, situation in enumerate(SITUATIONS):
            rows[place] = doubt_row(situation)
            yield (place + 1) / len(SITUATIONS), rows

    show(rows)
    Work(read_each, show, notice, "Read again").begin()
    panel = widgets.VBox([look.style(), notice, shown])
    panel.add_class("ow-panel")
    return panel

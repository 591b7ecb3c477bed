"""The bench's drawer of causes: everything that can make a number wrong, in groups."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import ipywidgets as widgets

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.panels import look
from oximetry_workbook.panels.controls import ChoiceControl, QuantityControl, labelled
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.teach.situations import SITUATIONS, Situation, doubt_table

Control = QuantityControl | ChoiceControl

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
    "Meter": ("converter_bits", "extinction_table"),
}
"""Fields of a scenario by the link of the chain they touch; the bench's main controls apart."""

TABLE_HEAD = ("Situation", "What you see", "Likely cause", "What people usually do")


class Group:
    """Controls under a heading that folds them.

    Attributes:
        toggle: The heading.
        widget: What to put on the page.
    """

    def __init__(
        self, title: str, fields: Sequence[str], body: Sequence[widgets.Widget], notice: Notice
    ) -> None:
        self._title, self._fields, self._ordinary = title, fields, Scenario()
        self.toggle = widgets.ToggleButton(value=False, description=title)
        self.toggle.add_class("ow-group-top")
        self._body = widgets.VBox(list(body))
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
        return sum(
            getattr(scenario, name) != getattr(self._ordinary, name) for name in self._fields
        )

    def _fold(self, change: dict[str, bool]) -> None:
        (self._body.remove_class if change["new"] else self._body.add_class)("ow-folded")


class CauseDrawer:
    """Situations to try, and every cause on its own.

    Attributes:
        groups: The groups by title.
        situations: The list of situations.
        widget: What to put on the page.
    """

    def __init__(
        self,
        controls: Mapping[str, Control],
        meter: Sequence[widgets.Widget],
        try_situation: Callable[[Situation], None],
        notice: Notice,
    ) -> None:
        """Arrange the controls.

        Args:
            controls: Controls by field name, those of `GROUPS` among them.
            meter: More to set about the meter itself.
            try_situation: Called with a situation that somebody chose.
            notice: Where to tell of a failure.
        """
        self._try = try_situation
        options = [("Choose a situation", None), *((each.name, each) for each in SITUATIONS)]
        self.situations = widgets.Dropdown(options=options, value=None)
        self._words = widgets.HTML()
        self._words.add_class("ow-situation")
        self.groups = {
            title: Group(title, fields, [controls[name].widget for name in fields], notice)
            for title, fields in GROUPS.items()
        }
        last = next(reversed(self.groups.values())).widget.children[1]
        last.children = (*meter, *last.children)
        self.widget = widgets.VBox(
            [
                labelled("A situation to try", self.situations),
                self._words,
                *(group.widget for group in self.groups.values()),
            ]
        )
        self.widget.add_class("ow-more")
        self.situations.observe(notice.guard(self._chosen), names="value")

    def show(self, scenario: Scenario) -> None:
        """Mark what differs from an ordinary scenario; forget a situation that no longer holds."""
        for group in self.groups.values():
            group.show(scenario)
        chosen = self.situations.value
        if chosen is not None and not chosen.holds_in(scenario):
            self.situations.value = None
        if self.situations.value is None:
            self._words.value = ""

    def _chosen(self, change: dict[str, Situation | None]) -> None:
        situation = change["new"]
        if situation is None:
            return
        self._try(situation)
        self._words.value = (
            f"<p>{html(situation.cause)}</p><p><em>Usually done:</em> "
            f"{html(situation.usual_response)} Local protocols decide.</p>"
        )


def doubts() -> widgets.VBox:
    """Show what is seen, what likely lies behind it, and what people usually do about it."""
    head = "".join(f'<th scope="col">{html(words)}</th>' for words in TABLE_HEAD)
    rows = "".join(_row(row) for row in doubt_table())
    table = widgets.HTML(
        f'<table class="ow-doubts"><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>'
    )
    shown = widgets.VBox([look.style(), table])
    shown.add_class("ow-panel")
    return shown


def _row(row: Sequence[str]) -> str:
    first, *rest = row
    cells = "".join(
        f'<td data-ow-head="{html(head)}">{html(words)}</td>'
        for head, words in zip(TABLE_HEAD[1:], rest, strict=True)
    )
    return f'<tr><th scope="row">{html(first)}</th>{cells}</tr>'

"""Other blood: what haemoglobin is made of, what a meter shows of it, and how much oxygen it is."""

from __future__ import annotations

import bqplot
import ipywidgets as widgets
import numpy as np

from oximetry_workbook.panels import look
from oximetry_workbook.panels.layers_plot import bars_figure, caption, side_by_side
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.other_blood_lines import (
    METHAEMOGLOBIN_COLOUR,
    MONOXIDE_COLOUR,
    DyePlot,
    FourSpectraPlot,
    MethaemoglobinPlot,
    MonoxidePlot,
)
from oximetry_workbook.panels.oxygen_on_board import MOST_ML_PER_DL, NumbersRow
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.state_panel import StatePanel, View
from oximetry_workbook.teach.other_blood import ORDINARY, OtherBlood
from oximetry_workbook.teach.other_blood_words import (
    content_sentence,
    main_sentence,
    numbers,
    shares_sentence,
)

SHARES = (
    (look.ARTERIAL, "HbO₂"),
    (look.VENOUS, "HHb"),
    (MONOXIDE_COLOUR, "COHb"),
    (METHAEMOGLOBIN_COLOUR, "MetHb"),
)
COLUMNS = ("all", "can carry", "meter shows")
PAIR = ("ordinary", "this")


class Numbers(NumbersRow):
    """What the meter shows, both saturations, and the oxygen."""

    def show(self, blood: OtherBlood) -> None:
        """Write this blood."""
        self.write(numbers(blood), main_sentence(blood))


class SharesPlot:
    """All haemoglobin in its parts, the part that can carry oxygen, and the meter's number."""

    def __init__(self, notice: Notice) -> None:
        across = bqplot.OrdinalScale(domain=list(COLUMNS))
        scales = {"x": across, "y": bqplot.LinearScale(min=0.0, max=100.0)}
        colours = [colour for colour, _ in SHARES]
        self.parts = make_bars(COLUMNS[:2], colours, scales, len(SHARES))
        self.meter = make_bars(COLUMNS[2:], [look.ACCENT], scales, 1)
        ticks = np.linspace(0.0, 100.0, 6)
        up = look.axis(scales["y"], "percent", vertical=True, tick_values=ticks)
        self.figure = bars_figure([self.parts, self.meter], up)
        self.says = look.says()
        entries = [(colour, "area", name) for colour, name in SHARES[::-1]]
        key = widgets.HTML(look.key([*entries, (look.ACCENT, "area", "the meter’s number")]))
        body = [key, self.figure, self.says]
        self.widget = look.card("All haemoglobin", [self.figure], body, notice)
        self.widget.add_class("ow-tall")

    def show(self, blood: OtherBlood) -> None:
        """Draw this blood's haemoglobin."""
        functional = blood.functional_percent
        able = np.array([functional, 100.0 - functional, 0.0, 0.0])
        self.parts.y = np.column_stack([blood.shares_percent, able])
        shown = blood.shown_percent
        with self.meter.hold_sync():
            self.meter.visible = shown is not None
            if shown is not None:
                self.meter.y = np.array([[shown]])
        self.says.value = html(shares_sentence(blood))


class ContentPlot:
    """Oxygen in a decilitre beside the number shown, for ordinary blood and for this."""

    def __init__(self, notice: Notice) -> None:
        self.content = self._pair(MOST_ML_PER_DL, look.ARTERIAL)
        self.meter = self._pair(100.0, look.ACCENT)
        ends = ((self.content, MOST_ML_PER_DL, "mL"), (self.meter, 100.0, "percent"))
        self.figures = [
            bars_figure(
                [mark],
                look.axis(
                    mark.scales["y"], label, vertical=True, tick_values=np.linspace(0.0, most, 6)
                ),
            )
            for mark, most, label in ends
        ]
        self.says = look.says()
        captions = (caption("oxygen in a decilitre"), caption("the meter shows"))
        body = [side_by_side(captions, self.figures), self.says]
        self.widget = look.card("How much oxygen", self.figures, body, notice)
        self.widget.add_class("ow-tall")

    def show(self, blood: OtherBlood) -> None:
        """Draw this blood beside the ordinary one."""
        pair = (ORDINARY, blood)
        self.content.y = np.array([each.content_ml_per_dl for each in pair])
        # a number that is withheld is a column of no height
        self.meter.y = np.array([each.shown_percent or 0.0 for each in pair])
        self.says.value = html(content_sentence(blood))

    @staticmethod
    def _pair(most: float, colour: str) -> bqplot.Bars:
        scales = {"x": bqplot.OrdinalScale(), "y": bqplot.LinearScale(min=0.0, max=most)}
        made = make_bars(PAIR, [look.GHOST, colour], scales, 1)
        made.color_mode, made.y = "group", np.ones(2)
        return made


def make_bars(
    names: tuple[str, ...], colours: list[str], scales: dict[str, bqplot.Scale], parts: int
) -> bqplot.Bars:
    """Make columns that wait for their heights, each of one or more stacked parts."""
    return bqplot.Bars(
        x=list(names),
        y=np.ones((parts, len(names))),
        scales=scales,
        colors=colours,
        type="stacked",
        padding=0.3,
        stroke="var(--ow-surface)",
    )


def make_views(notice: Notice) -> tuple[View, ...]:
    """Make the views of the panel."""
    return (
        Numbers(),
        SharesPlot(notice),
        ContentPlot(notice),
        MonoxidePlot(notice),
        MethaemoglobinPlot(notice),
        DyePlot(notice),
        FourSpectraPlot(notice),
    )


def other_blood(state: OtherBlood | None = None) -> widgets.VBox:
    """Show what other haemoglobins, anaemia and dyes do to the number, and to the oxygen.

    Args:
        state: What to start from; the usual state if left out.
    """
    return StatePanel(state or OtherBlood(), make_views).widget

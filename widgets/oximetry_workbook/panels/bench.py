"""The bench: sliders for the situation, the whole chain in four plots, the number shown."""

from __future__ import annotations

import ipywidgets as widgets

from oximetry_workbook.body.scenario import SPECS, Scenario
from oximetry_workbook.meter.curve import TEXTBOOK
from oximetry_workbook.panels import look
from oximetry_workbook.panels.causes import CauseDrawer
from oximetry_workbook.panels.controls import controls_for, labelled
from oximetry_workbook.panels.curve_plot import CurvePlot
from oximetry_workbook.panels.download import CsvButton
from oximetry_workbook.panels.layers_plot import LayersPlot
from oximetry_workbook.panels.model import BenchModel
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.numbers import NumbersStrip
from oximetry_workbook.panels.pulse_plot import PulsePlot
from oximetry_workbook.panels.ratio_plot import RatioPlot
from oximetry_workbook.teach.reading import CURVE_NAMES, recording_csv
from oximetry_workbook.teach.situations import Situation

MAIN_CONTROLS = (
    "arterial_saturation",
    "perfusion_index_percent",
    "heart_rate_bpm",
    "noise_percent",
)


class Bench:
    """The main panel.

    Attributes:
        model: Its state; set `model.scenario` to move the bench from a notebook cell.
        controls: Controls by field name.
        plots: The four plots.
        causes: The drawer of causes.
        widget: What to put on the page.
    """

    def __init__(self, scenario: Scenario | None = None) -> None:
        self.model = BenchModel(scenario)
        self.notice = Notice()
        changed = self.notice.guard(self.model.set)
        self.controls = controls_for(SPECS, changed)
        self.curve_list = widgets.Dropdown(
            options=[(name[0].upper() + name[1:], name) for name in CURVE_NAMES]
        )
        self.numbers = NumbersStrip()
        self.layers, self.pulses = LayersPlot(self.notice), PulsePlot(self.notice)
        self.ratio, self.curve = RatioPlot(self.notice), CurvePlot(TEXTBOOK, self.notice)
        self.plots = (self.layers, self.pulses, self.ratio, self.curve)
        self.csv = CsvButton(
            "Save data", "recording.csv", lambda: recording_csv(self.model.reading), self.notice
        )
        self.causes = self._make_causes()
        self.widget = self._arrange()
        self._show()
        # last, so that nothing above calls back
        self.model.observe(self._show, names="reading")
        self.model.observe(self._show_reference, names="reference")
        self.curve_list.observe(self.notice.guard(self._choose_curve), names="value")

    def _show(self, _: object = None) -> None:
        reading = self.model.reading
        for view in (self.numbers, *self.plots):
            view.show(reading)
        for each in self.controls.values():
            each.show(self.model.scenario)
        self.causes.show(self.model.scenario)
        self.curve_list.value = self.model.curve_name
        self.csv.forget()

    def _show_reference(self, _: object) -> None:
        for view in (self.numbers, *self.plots):
            view.show_reference(self.model.reference)
        self.numbers.show(self.model.reading)

    def _choose_curve(self, change: dict[str, str]) -> None:
        self.model.curve_name = change["new"]

    def _make_causes(self) -> CauseDrawer:
        curve = labelled("Calibration curve in the meter", self.curve_list)
        drawer = CauseDrawer(self.controls, [curve], self._try, self.notice)
        drawer.widget.add_class("ow-folded")
        return drawer

    def _try(self, situation: Situation) -> None:
        self.model.scenario = situation.applied_to(self.model.scenario)

    def _buttons(self) -> widgets.HBox:
        more = widgets.ToggleButton(value=False, description="Causes of doubt")
        keep = widgets.Button(description="Keep as reference")
        reset = widgets.Button(description="Reset")
        more.observe(self.notice.guard(self._fold), names="value")
        keep.on_click(self.notice.guard(lambda _: self.model.keep_reference()))
        reset.on_click(self.notice.guard(lambda _: self.model.reset()))
        row = widgets.HBox([keep, reset, self.csv.widget, more])
        row.add_class("ow-actions")
        return row

    def _fold(self, change: dict[str, bool]) -> None:
        drawer = self.causes.widget
        (drawer.remove_class if change["new"] else drawer.add_class)("ow-folded")

    def _arrange(self) -> widgets.VBox:
        controls = widgets.VBox([self.controls[name].widget for name in MAIN_CONTROLS])
        controls.add_class("ow-controls")
        side = widgets.VBox([controls, self._buttons(), self.causes.widget])
        side.add_class("ow-side")
        plots = widgets.Box([plot.widget for plot in self.plots])
        plots.add_class("ow-plots")
        shown = widgets.VBox([self.notice, self.numbers.widget, plots])
        shown.add_class("ow-shown")
        body = widgets.Box([side, shown])
        body.add_class("ow-bench-body")
        panel = widgets.VBox([look.style(), body])
        panel.add_class("ow-panel")
        panel.add_class("ow-bench")
        return panel


def bench(scenario: Scenario | None = None) -> widgets.VBox:
    """Show the bench.

    Args:
        scenario: The situation to start from; the default one if left out.
    """
    return Bench(scenario).widget

"""The bench: sliders for the situation, the whole chain in four plots, the number shown."""

from __future__ import annotations

import ipywidgets as widgets

from oximetry_workbook.body.scenario import SPECS, Scenario
from oximetry_workbook.meter.curve import TEXTBOOK, Curve
from oximetry_workbook.panels import look
from oximetry_workbook.panels.causes import CauseDrawer
from oximetry_workbook.panels.controls import Controls, labelled
from oximetry_workbook.panels.curve_plot import CurvePlot
from oximetry_workbook.panels.download import CsvButton
from oximetry_workbook.panels.explanation import Explanation
from oximetry_workbook.panels.layers_plot import LayersPlot
from oximetry_workbook.panels.model import BenchModel
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.numbers import NumbersStrip
from oximetry_workbook.panels.own_curve import CurveList
from oximetry_workbook.panels.pulse_plot import PulsePlot
from oximetry_workbook.panels.ratio_plot import RatioPlot
from oximetry_workbook.panels.share import Share
from oximetry_workbook.teach.bench_state import BenchState
from oximetry_workbook.teach.own_curve import NOT_SHARED
from oximetry_workbook.teach.reading import recording_csv
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
        controls: Controls by field name, those in the drawer once it was opened there.
        curves: The list of curves.
        plots: The four plots.
        causes: The drawer of causes.
        share: How the state is taken along.
        explanation: The state in five sentences.
        widget: What to put on the page.
    """

    def __init__(self, scenario: Scenario | None = None) -> None:
        self.model = BenchModel(scenario.scenario if isinstance(scenario, BenchState) else scenario)
        if isinstance(scenario, BenchState):
            self.model.curve = scenario.curve
        self.notice = Notice()
        changed = self.notice.guard(self.model.set)
        self.controls = Controls(SPECS, changed, lambda: self.model.scenario)
        self.curves = CurveList(self._choose_curve, self.notice)
        self.numbers, self.explanation = NumbersStrip(), Explanation(self.notice)
        self.layers, self.pulses = LayersPlot(self.notice), PulsePlot(self.notice)
        self.ratio, self.curve = RatioPlot(self.notice), CurvePlot(TEXTBOOK, self.notice)
        self.plots = (self.layers, self.pulses, self.ratio, self.curve)
        self.csv = CsvButton(
            "Save data", "recording.csv", lambda: recording_csv(self.model.reading), self.notice
        )
        self.causes = self._make_causes()
        self.share = Share(self._state(), self.open, self.notice)
        self.widget = self._arrange()
        self._show()
        # last, so that nothing above calls back
        self.model.observe(self._show, names="reading")
        self.model.observe(self._show_reference, names="reference")

    def _show(self, _: object = None) -> None:
        reading = self.model.reading
        for view in (self.numbers, self.explanation, *self.plots):
            view.show(reading)
        for each in self.controls.values():
            each.show(self.model.scenario)
        self.causes.show(self.model.scenario)
        self.curves.show(self.model.curve)
        self.share.show(self._state(), NOT_SHARED if isinstance(self.model.curve, Curve) else "")
        self.csv.forget()

    def open(self, state: BenchState) -> None:
        """Go to a scenario and a curve that came from elsewhere."""
        self.model.curve = state.curve
        self.model.scenario = state.scenario

    def _state(self) -> BenchState:
        return BenchState.of(self.model.scenario, self.model.curve)

    def _show_reference(self, _: object) -> None:
        for view in (self.numbers, *self.plots):
            view.show_reference(self.model.reference)
        self.numbers.show(self.model.reading)

    def _choose_curve(self) -> None:
        self.model.curve = self.curves.curve

    def _make_causes(self) -> CauseDrawer:
        curve = labelled("Calibration curve in the meter", self.curves.dropdown)
        meter = (curve, self.curves.own.widget)
        over = self.model.start_from_ordinary
        drawer = CauseDrawer(self.controls, meter, self._try, over, self.notice)
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
        more_of_it = (self.csv.widget, self.share.toggle, self.explanation.toggle, more)
        row = widgets.HBox([keep, reset, *more_of_it])
        row.add_class("ow-actions")
        return row

    def _fold(self, change: dict[str, bool]) -> None:
        drawer = self.causes.widget
        look.mark(drawer, "ow-folded", not change["new"])

    def _arrange(self) -> widgets.VBox:
        controls = widgets.VBox([self.controls[name].widget for name in MAIN_CONTROLS])
        controls.add_class("ow-controls")
        side = widgets.VBox(
            [controls, self._buttons(), self.share.box, self.share.address, self.causes.widget]
        )
        side.add_class("ow-side")
        plots = widgets.Box([plot.widget for plot in self.plots])
        plots.add_class("ow-plots")
        shown = widgets.VBox([self.notice, self.numbers.widget, self.explanation.widget, plots])
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
        scenario: The situation to start from, with the meter's curve if it is a `BenchState`; the
            default one if left out.
    """
    return Bench(scenario).widget

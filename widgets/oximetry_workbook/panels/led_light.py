"""The LEDs' light: what varnish leaves of it, what goes past the finger, and where peaks lie."""

from __future__ import annotations

import bqplot
import ipywidgets as widgets
import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.panels import look
from oximetry_workbook.panels.layers_plot import bars, bars_figure
from oximetry_workbook.panels.marks import make_line, make_spot, place
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.teach.wrong_light import (
    SPECTRUM_NM,
    TRUE_PERCENT,
    LedLight,
    PastTheTissue,
    blood_extinction,
)
from oximetry_workbook.teach.wrong_light_words import (
    errors_sentence,
    filter_sentence,
    shares_sentence,
    spectra_sentence,
)

LEAST_ERROR_SHOWN = 3.0
"""Axes of errors show at least this on either side [percentage points]."""

LOWEST_EXTINCTION, HIGHEST_EXTINCTION = 200.0, 10_000.0
"""Ends of the axis of extinction [cm⁻¹ per mol/L], 620 to 1000 nm."""

LOWEST_PERCENT = float(TRUE_PERCENT.min())
"""The plot of errors ends here [%]."""

SHARE_COLOURS = (look.ARTERIAL, look.GHOST)
ERROR_LADDER = (1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0)


class VarnishPlot:
    """What varnish lets through, and both LEDs' light before and behind it."""

    def __init__(self, notice: Notice) -> None:
        self._scales = _spectrum_scales()
        self.varnish = make_line(self._scales, SPECTRUM_NM, look.INK, "dotted", 2.5)
        self.before = [_hill(self._scales, look.GHOST, 0.0) for _ in range(2)]
        self.behind = [_hill(self._scales, colour, 0.4) for colour in (look.RED, look.INFRARED)]
        marks = [*self.before, *self.behind, self.varnish]
        up = _percent_axis(self._scales["y"], "light, %")
        self.figure = look.figure(marks, [_wavelength_axis(self._scales["x"]), up])
        self.says = look.says()
        entries = [
            (look.INK, "dotted", "varnish lets through"),
            (look.GHOST, "line", "LEDs before it"),
            (look.RED, "area", "red behind it"),
            (look.INFRARED, "area", "infrared behind it"),
        ]
        body = [widgets.HTML(look.key(entries)), self.figure, self.says]
        self.widget = look.card("LEDs and varnish", [self.figure], body, notice)

    def show(self, state: PastTheTissue) -> None:
        """Draw a state."""
        self.varnish.y = state.varnish_percent
        wavelength, before, behind = state.led_percent
        for marks, heights in ((self.before, before), (self.behind, behind)):
            for mark, nm, light in zip(marks, wavelength, heights, strict=True):
                place(mark, nm, light)
        self.says.value = html(filter_sentence(state))


class SharesPlot:
    """Steady light at the detector: through the finger and past it, by colour."""

    def __init__(self, notice: Notice) -> None:
        self.shares = bars(bqplot.LinearScale(min=0.0, max=100.0), SHARE_COLOURS, 0.4)
        up = _percent_axis(self.shares.scales["y"], "parts of 100")
        self.figure = bars_figure([self.shares], up)
        self.says = look.says()
        names = ("through the finger", "past the finger")
        entries = [(c, "area", n) for c, n in zip(SHARE_COLOURS, names, strict=True)]
        body = [widgets.HTML(look.key(entries[::-1])), self.figure, self.says]
        self.widget = look.card("What reaches the detector", [self.figure], body, notice)

    def show(self, state: PastTheTissue) -> None:
        """Draw a state."""
        self.shares.y = state.shares_percent
        self.says.value = html(shares_sentence(state))


class LedPlot:
    """Both LEDs' light over what haemoglobin takes, as the curve knew them and as they are."""

    def __init__(self, notice: Notice) -> None:
        self._scales = _spectrum_scales()
        self.usual = [_hill(self._scales, look.GHOST, 0.0) for _ in range(2)]
        self.leds = [_hill(self._scales, colour, 0.4) for colour in (look.RED, look.INFRARED)]
        marks = [*self.usual, *self.leds, *self._blood()]
        axes = [_wavelength_axis(self._scales["x"]), self._extinction_axis()]
        self.figure = look.figure(marks, axes)
        self.says = look.says()
        body = [self._key(), self.figure, self.says]
        self.widget = look.card("LEDs and haemoglobin", [self.figure], body, notice)
        for mark, nm, light in zip(self.usual, *LedLight().led_percent, strict=True):
            place(mark, nm, light)

    def show(self, state: LedLight) -> None:
        """Draw a state."""
        for mark, nm, light in zip(self.leds, *state.led_percent, strict=True):
            place(mark, nm, light)
        self.says.value = html(spectra_sentence(state))

    def _blood(self) -> list[bqplot.Lines]:
        self._extinction = bqplot.LogScale(min=LOWEST_EXTINCTION, max=HIGHEST_EXTINCTION)
        scales = {"x": self._scales["x"], "y": self._extinction}
        lines = [
            make_line(scales, SPECTRUM_NM, look.ARTERIAL, "solid", 2.5),
            make_line(scales, SPECTRUM_NM, look.VENOUS, "dashed", 2.5),
        ]
        for line, taken in zip(lines, blood_extinction(), strict=True):
            line.y = taken
        return lines

    def _extinction_axis(self) -> bqplot.Axis:
        return look.axis(
            self._extinction,
            "cm⁻¹ per mol/L",
            vertical=True,
            tick_values=[200.0, 500.0, 1000.0, 2000.0, 5000.0, 10_000.0],
            tick_format="~s",
        )

    @staticmethod
    def _key() -> widgets.HTML:
        entries = [
            (look.ARTERIAL, "line", "with oxygen, HbO₂"),
            (look.VENOUS, "dashed", "without oxygen, HHb"),
            (look.RED, "area", "red LED"),
            (look.INFRARED, "area", "infrared LED"),
            (look.GHOST, "line", "LEDs of the curve"),
        ]
        return widgets.HTML(look.key(entries))


class ErrorPlot:
    """Error of the reading over true saturation, each point simulated and measured."""

    def __init__(self, notice: Notice) -> None:
        self._scales = {
            "x": bqplot.LinearScale(min=58.0, max=102.0),
            "y": bqplot.LinearScale(min=-LEAST_ERROR_SHOWN, max=LEAST_ERROR_SHOWN),
        }
        zero = make_line(self._scales, np.array([58.0, 102.0]), look.INK_SOFT, "dotted", 1.5)
        zero.y = np.zeros(2)
        self.errors = make_line(self._scales, TRUE_PERCENT, look.ACCENT, "solid", 3.0)
        self.errors.marker, self.errors.marker_size = "circle", 40
        self.spot = make_spot(self._scales, look.INK, "diamond", 150)
        self._up = look.axis(self._scales["y"], "error, points", vertical=True)
        across = look.axis(
            self._scales["x"], "true saturation, %", tick_values=np.arange(60.0, 101.0, 10.0)
        )
        self.figure = look.figure([zero, self.errors, self.spot], [across, self._up])
        self.says = look.says()
        entries = [(look.ACCENT, "line", "shown less true"), (look.INK, "diamond", "now")]
        body = [widgets.HTML(look.key(entries)), self.figure, self.says]
        self.widget = look.card("Error by saturation", [self.figure], body, notice)

    def show(self, state: PastTheTissue | LedLight) -> None:
        """Draw a state."""
        told = np.array([error is not None for error in state.errors])
        found = np.array([error for error in state.errors if error is not None])
        now = state.reading.error_points
        every = [*found, *([] if now is None else [now]), LEAST_ERROR_SHOWN]
        limit = look.nice_limit(float(np.max(np.abs(every))), ERROR_LADDER)
        look.set_range(self._scales["y"], self._up, -limit, limit)
        self.errors.visible = found.size > 1
        if self.errors.visible:
            place(self.errors, TRUE_PERCENT[told], found)
        self._mark_now(100.0 * state.arterial_saturation, now)
        self.says.value = html(errors_sentence(state.errors))

    def _mark_now(self, true_percent: float, error: float | None) -> None:
        self.spot.visible = error is not None and true_percent >= LOWEST_PERCENT
        if self.spot.visible:
            place(self.spot, [true_percent], [error])


def _spectrum_scales() -> dict[str, bqplot.Scale]:
    return {
        "x": bqplot.LinearScale(min=float(SPECTRUM_NM[0]), max=float(SPECTRUM_NM[-1])),
        "y": bqplot.LinearScale(min=0.0, max=105.0),
    }


def _wavelength_axis(scale: bqplot.Scale) -> bqplot.Axis:
    return look.axis(scale, "wavelength, nm", tick_values=np.arange(600.0, 1001.0, 100.0))


def _percent_axis(scale: bqplot.Scale, label: str) -> bqplot.Axis:
    return look.axis(scale, label, vertical=True, tick_values=np.linspace(0.0, 100.0, 5))


def _hill(scales: dict[str, bqplot.Scale], colour: str, opacity: float) -> bqplot.Lines:
    """Make an LED's spectrum that waits for its light; filled where the opacity is above 0."""
    some: NDArray[np.float64] = SPECTRUM_NM[:2]
    line = make_line(scales, some, colour, "solid", 1.5)
    line.fill = "bottom" if opacity > 0.0 else "none"
    line.fill_colors, line.fill_opacities = [colour], [opacity]
    return line

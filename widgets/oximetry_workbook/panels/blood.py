"""The colour of blood: two swatches to look through, and the spectra behind them."""

from __future__ import annotations

import bqplot
import ipywidgets as widgets
import numpy as np

from oximetry_workbook.body.light import (
    INFRARED_FWHM_NM,
    INFRARED_PEAK_NM,
    RED_FWHM_NM,
    RED_PEAK_NM,
    led_spectrum,
)
from oximetry_workbook.panels import look
from oximetry_workbook.panels.marks import make_line
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.state_panel import StatePanel
from oximetry_workbook.teach.colours import (
    PAIR_SATURATION,
    SHOWN_NM,
    TISSUE_NM,
    BloodSamples,
    colours_sentence,
    pair_ratio,
    pair_sentence,
    spectra_sentence,
    tissue_absorption_per_cm,
    window_sentence,
)

LEAST_EXTINCTION, MOST_EXTINCTION = 100.0, 120_000.0
"""Ends of the axis [cm⁻¹ per mol/L]: HHb alone has 103 292 at 450 nm in Prahl’s table."""


class Swatches:
    """Two layers of blood, held against daylight."""

    def __init__(self) -> None:
        self._colours = widgets.HTML()
        self.says = look.says()
        self.widget = widgets.VBox(
            [widgets.HTML("<h3>Held against daylight</h3>"), self._colours, self.says]
        )
        self.widget.add_class("ow-card")

    def show(self, samples: BloodSamples) -> None:
        """Colour the swatches."""
        pairs = (
            ("arterial", samples.arterial_saturation, samples.arterial_colour),
            ("venous", samples.venous_saturation, samples.venous_colour),
        )
        parts = [
            f'<div><div class="ow-swatch" style="background:{colour}"></div>'
            f"<span>{name}, {100 * saturation:.0f} %</span></div>"
            for name, saturation, colour in pairs
        ]
        self._colours.value = f'<div class="ow-swatches">{"".join(parts)}</div>'
        self.says.value = html(colours_sentence(samples))


class SpectraPlot:
    """Extinction of both haemoglobins, with the two LEDs' light underneath."""

    def __init__(self, notice: Notice) -> None:
        self._wavelength = bqplot.LinearScale(min=SHOWN_NM[0], max=SHOWN_NM[-1])
        self._extinction = bqplot.LogScale(min=LEAST_EXTINCTION, max=MOST_EXTINCTION)
        self.lines = {
            "HbO2": self._line(look.ARTERIAL, "solid"),
            "HHb": self._line(look.VENOUS, "dashed"),
        }
        self._power = bqplot.LinearScale(min=0.0, max=1.6)
        self.leds = [self._led(look.RED), self._led(look.INFRARED)]
        self.figure = look.figure([*self.leds, *self.lines.values()], self._axes())
        self.says = look.says()
        body = [self._key(), self.figure, self.says]
        self.widget = look.card("What haemoglobin takes", [self.figure], body, notice)
        self.widget.add_class("ow-tall")

    def show(self, samples: BloodSamples) -> None:
        """Draw the spectra of the chosen table."""
        for species, line in self.lines.items():
            line.y = samples.spectrum(species)
        self._draw_led(self.leds[0], samples.first_nm, RED_FWHM_NM)
        self._draw_led(self.leds[1], samples.second_nm, INFRARED_FWHM_NM)
        self.says.value = html(spectra_sentence(samples))

    def _axes(self) -> list[bqplot.Axis]:
        return [
            look.axis(
                self._wavelength, "wavelength, nm", tick_values=np.arange(500.0, 1001.0, 100.0)
            ),
            look.axis(
                self._extinction,
                "extinction, cm⁻¹ per mol/L",
                vertical=True,
                tick_values=10.0 ** np.arange(2, 6),
                tick_format="~s",
            ),
        ]

    def _line(self, colour: str, style: str) -> bqplot.Lines:
        scales = {"x": self._wavelength, "y": self._extinction}
        return make_line(scales, SHOWN_NM, colour, style, 3.5)

    def _led(self, colour: str) -> bqplot.Lines:
        return bqplot.Lines(
            x=SHOWN_NM[:2],
            y=np.zeros(2),
            scales={"x": self._wavelength, "y": self._power},
            colors=[colour],
            stroke_width=1.0,
            fill="bottom",
            fill_colors=[colour],
            fill_opacities=[0.28],
        )

    @staticmethod
    def _draw_led(line: bqplot.Lines, peak_nm: float, fwhm_nm: float) -> None:
        reach = 1.2 * fwhm_nm
        wavelength = np.linspace(peak_nm - reach, min(peak_nm + reach, SHOWN_NM[-1]), 61)
        power = led_spectrum(wavelength, peak_nm, fwhm_nm)
        with line.hold_sync():
            line.x, line.y = wavelength, power / power.max()

    @staticmethod
    def _key() -> widgets.HTML:
        return widgets.HTML(
            look.key(
                [
                    (look.ARTERIAL, "line", "with oxygen, HbO₂"),
                    (look.VENOUS, "dashed", "without oxygen, HHb"),
                    (look.RED, "area", "first LED"),
                    (look.INFRARED, "area", "second LED"),
                ]
            )
        )


class PairPlot:
    """What the ratio of the chosen pair of wavelengths does as saturation falls."""

    def __init__(self, notice: Notice) -> None:
        self._saturation = bqplot.LinearScale(min=40.0, max=100.0)
        self._ratio = bqplot.LinearScale(min=0.0, max=3.0)
        self._up = look.axis(self._ratio, "ratio, straight path", vertical=True)
        self.usual = self._line(look.GHOST, "dashed", 2.5)
        self.pair = self._line(look.ACCENT, "solid", 4.0)
        self.usual.y = pair_ratio(RED_PEAK_NM, INFRARED_PEAK_NM)
        across = look.axis(
            self._saturation, "saturation, %", tick_values=np.arange(40.0, 101.0, 10.0)
        )
        self.figure = look.figure([self.usual, self.pair], [across, self._up])
        self.says = look.says()
        body = [self._key(), self.figure, self.says]
        self.widget = look.card("What a pair is worth", [self.figure], body, notice)

    def show(self, samples: BloodSamples) -> None:
        """Draw the ratio of the chosen pair."""
        self.pair.y = samples.pair_ratio
        largest = max(self.pair.y.max(), self.usual.y.max())
        look.set_range(self._ratio, self._up, 0.0, look.nice_limit(largest))
        self.says.value = html(pair_sentence(samples))

    def _line(self, colour: str, style: str, width: float) -> bqplot.Lines:
        scales = {"x": self._saturation, "y": self._ratio}
        return make_line(scales, 100.0 * PAIR_SATURATION, colour, style, width)

    @staticmethod
    def _key() -> widgets.HTML:
        entries = [
            (look.ACCENT, "line", "this pair"),
            (look.GHOST, "dashed", "660 and 940 nm"),
        ]
        return widgets.HTML(look.key(entries))


class WindowPlot:
    """Absorption of what tissue is made of, and the window in which light gets through."""

    STYLES = (
        ("arterial blood", look.ARTERIAL, "solid", "line"),
        ("venous blood", look.VENOUS, "dashed", "dashed"),
        ("water", look.INFRARED, "dotted", "dotted"),
        ("melanin", look.TISSUE, "dash_dotted", "dashed"),
    )

    def __init__(self, notice: Notice) -> None:
        scales = {
            "x": bqplot.LinearScale(min=TISSUE_NM[0], max=TISSUE_NM[-1]),
            "y": bqplot.LogScale(min=0.001, max=100.0),
        }
        parts = tissue_absorption_per_cm()
        self.lines = [
            bqplot.Lines(
                x=parts[name][0],
                y=parts[name][1],
                scales=scales,
                colors=[colour],
                line_style=style,
                stroke_width=3.0,
            )
            for name, colour, style, _ in self.STYLES
        ]
        self.figure = look.figure(self.lines, self._axes(scales))
        self.says = look.says()
        self.says.value = html(window_sentence())
        entries = [(colour, kind, name) for name, colour, _, kind in self.STYLES]
        body = [widgets.HTML(look.key(entries)), self.figure, self.says]
        self.widget = look.card("The window in tissue", [self.figure], body, notice)

    def show(self, samples: BloodSamples) -> None:
        """Nothing here depends on the samples: tissue is the same for all."""

    @staticmethod
    def _axes(scales: dict[str, bqplot.Scale]) -> list[bqplot.Axis]:
        return [
            look.axis(scales["x"], "wavelength, nm", tick_values=np.arange(400.0, 1101.0, 200.0)),
            look.axis(
                scales["y"],
                "absorption, 1/cm",
                vertical=True,
                label_offset="54px",
                tick_values=10.0 ** np.arange(-3, 3),
            ),
        ]


def blood(state: BloodSamples | None = None) -> widgets.VBox:
    """Show the colour of blood, the spectra behind it, and the window in tissue.

    Args:
        state: What to start from; the usual state if left out.
    """
    return StatePanel(state or BloodSamples(), make_views).widget


def make_views(notice: Notice) -> tuple[Swatches, SpectraPlot, PairPlot, WindowPlot]:
    """Make the four views of the panel."""
    return (Swatches(), SpectraPlot(notice), PairPlot(notice), WindowPlot(notice))

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
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.state_panel import StatePanel
from oximetry_workbook.teach.colours import (
    SHOWN_NM,
    BloodSamples,
    colours_sentence,
    spectra_sentence,
)

LEAST_EXTINCTION, MOST_EXTINCTION = 100.0, 100_000.0


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
        self.says.value = colours_sentence(samples)


class SpectraPlot:
    """Extinction of both haemoglobins, with the two LEDs' light underneath."""

    def __init__(self, notice: Notice) -> None:
        self._wavelength = bqplot.LinearScale(min=SHOWN_NM[0], max=SHOWN_NM[-1])
        self._extinction = bqplot.LogScale(min=LEAST_EXTINCTION, max=MOST_EXTINCTION)
        self.lines = {
            "HbO2": self._line(look.ARTERIAL, "solid"),
            "HHb": self._line(look.VENOUS, "dashed"),
        }
        leds = [
            self._led(RED_PEAK_NM, RED_FWHM_NM, look.RED),
            self._led(INFRARED_PEAK_NM, INFRARED_FWHM_NM, look.INFRARED),
        ]
        self.figure = look.figure([*leds, *self.lines.values()], self._axes())
        self.says = look.says()
        body = [self._key(), self.figure, self.says]
        self.widget = look.card("What haemoglobin takes", [self.figure], body, notice)
        self.widget.add_class("ow-tall")

    def show(self, samples: BloodSamples) -> None:
        """Draw the spectra of the chosen table."""
        for species, line in self.lines.items():
            line.y = samples.spectrum(species)
        self.says.value = spectra_sentence(samples)

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
        return bqplot.Lines(
            x=SHOWN_NM,
            y=np.full(SHOWN_NM.size, 1000.0),
            scales={"x": self._wavelength, "y": self._extinction},
            colors=[colour],
            line_style=style,
            stroke_width=3.5,
        )

    def _led(self, peak_nm: float, fwhm_nm: float, colour: str) -> bqplot.Lines:
        wavelength = np.linspace(peak_nm - 1.2 * fwhm_nm, min(peak_nm + 1.2 * fwhm_nm, 1000.0), 61)
        power = led_spectrum(wavelength, peak_nm, fwhm_nm)
        return bqplot.Lines(
            x=wavelength,
            y=power / power.max(),
            scales={"x": self._wavelength, "y": bqplot.LinearScale(min=0.0, max=1.6)},
            colors=[colour],
            stroke_width=1.0,
            fill="bottom",
            fill_colors=[colour],
            fill_opacities=[0.28],
        )

    @staticmethod
    def _key() -> widgets.HTML:
        return widgets.HTML(
            look.key(
                [
                    (look.ARTERIAL, "line", "with oxygen, HbO₂"),
                    (look.VENOUS, "dashed", "without oxygen, HHb"),
                    (look.RED, "area", "red LED, 660 nm"),
                    (look.INFRARED, "area", "infrared LED, 940 nm"),
                ]
            )
        )


def blood() -> widgets.VBox:
    """Show the colour of blood and the spectra behind it."""
    return StatePanel(BloodSamples(), lambda notice: (Swatches(), SpectraPlot(notice))).widget

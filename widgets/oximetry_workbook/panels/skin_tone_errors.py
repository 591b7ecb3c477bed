"""Errors of many readings with two skins, beside what a study found; long work with Cancel."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Protocol

import bqplot
import ipywidgets as widgets
import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.panels import look
from oximetry_workbook.panels.marks import make_line, make_spot, place
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.work import Work
from oximetry_workbook.teach.many_readings import ManyReadings
from oximetry_workbook.teach.skin_tone import DARK_FOUND, LIGHT_FOUND, Finding, SkinTone
from oximetry_workbook.teach.skin_tone_readings import (
    MELANIN,
    SEEDS,
    STUDY_PERCENT,
    SWEPT_PERCENT,
    BothSkins,
    alike,
    many_readings,
)
from oximetry_workbook.teach.skin_tone_words import (
    errors_sentence,
    found_sentence,
    melanin_sentence,
)

FloatArray = NDArray[np.float64]

LEAST_ERROR, LEAST_SWEPT_ERROR = 8.0, 2.0
"""The axes of error reach at least this far on either side of 0 [points]."""

LADDER = (1.0, 2.0, 4.0, 8.0)
ASIDE_PERCENT = 0.45
"""Light skin is drawn this far to the left of its saturation and this skin to the right, so that
intervals do not hide each other."""

FOUND_AT = {LIGHT_FOUND: 63.2, DARK_FOUND: 66.8}
"""Where a study's means of 60 to 70 % are drawn [%], clear of the engine's at 65."""

SKIN_LOOKS = {"light": (look.ACCENT, "dashed", "circle"), "dark": (look.PIGMENT, "solid", "square")}
SWEPT_STYLES = ("solid", "dashed", "dash_dotted", "dotted")
SWEPT_COLOURS = (look.ACCENT, look.INK, look.VENOUS, look.ARTERIAL)


class Drawn(Protocol):
    """What draws many readings."""

    def draw_many(self, many: BothSkins | None) -> None:
        """Draw the readings so far, None for none."""


class Repeats:
    """The long work of reading many times, and its result so far.

    Attributes:
        work: Button, progress and Cancel.
        drawn_by: Who draws the result.
    """

    def __init__(self, notice: Notice) -> None:
        self._state = SkinTone()
        self.drawn_by: list[Drawn] = []
        self.work = Work(self._start, self._take, notice, f"Read {SEEDS} times")

    def show(self, state: SkinTone) -> None:
        """Take up a state; what was read of another one is dropped."""
        if not alike(self._state, state):
            self.work.cancel()
            self._take(None)
        self._state = state

    def _start(self) -> Iterator[tuple[float, BothSkins]]:
        return many_readings(self._state)

    def _take(self, found: BothSkins | None) -> None:
        for each in self.drawn_by:
            each.draw_many(found)


class ErrorPlot:
    """Error against saturation: the engine's with both skins, and a study's beside it."""

    def __init__(self, repeats: Repeats, notice: Notice) -> None:
        self._repeats = repeats
        self._scales = _error_scales(58.0, 97.0)
        self._up = look.axis(self._scales["y"], "reading less blood, points", vertical=True)
        across = look.axis(
            self._scales["x"], "saturation of blood, %", tick_values=np.arange(60.0, 96.0, 5.0)
        )
        self.zero = _zero(self._scales, (58.0, 97.0))
        self.quiet = make_line(self._scales, STUDY_PERCENT, look.PIGMENT, "dotted", 2.0)
        self.means, self.bars = {}, {}
        for skin, (colour, style, _) in SKIN_LOOKS.items():
            self.means[skin] = make_line(self._scales, STUDY_PERCENT, colour, style, 3.0)
            self.bars[skin] = _bars(self._scales, colour, 2.5)
        self.found = [mark for each in FOUND_AT for mark in self._found(each)]
        marks = [self.zero, self.quiet, *self.bars.values(), *self.means.values(), *self.found]
        self.figure = look.figure(marks, [across, self._up])
        self.says, self.study_says = look.says(), look.says()
        self.study_says.value = html(found_sentence())
        body = [self._key(), repeats.work.widget, self.figure, self.says, self.study_says]
        self.widget = look.card("Optics and a study", [self.figure], body, notice)
        self.widget.add_class("ow-tall")
        repeats.drawn_by.append(self)
        self.draw_many(None)

    def show(self, state: SkinTone) -> None:
        """Draw what needs no repeats: the error without noise."""
        self._repeats.show(state)
        self.quiet.y = state.quiet_errors(STUDY_PERCENT)

    def draw_many(self, many: BothSkins | None) -> None:
        """Draw the means of both skins with their intervals."""
        both = {} if many is None else {"light": many.light, "dark": many.dark}
        aside = {"light": -ASIDE_PERCENT, "dark": ASIDE_PERCENT}
        for skin in SKIN_LOOKS:
            x = STUDY_PERCENT + aside[skin]
            draw_repeated(self.means[skin], self.bars[skin], x, both.get(skin))
        _fit(self._scales, self._up, list(both.values()), LEAST_ERROR)
        self.says.value = html(errors_sentence(many))

    def _found(self, finding: Finding) -> tuple[bqplot.Lines, bqplot.Scatter]:
        colour = SKIN_LOOKS[finding.skin][0]
        at, mean, sd = FOUND_AT[finding], finding.bias_points, finding.sd_points
        reach = make_line(self._scales, np.full(2, at), colour, "solid", 1.5)
        reach.y = np.array([mean - sd, mean + sd])
        spot = make_spot(self._scales, colour, "diamond", 150)
        place(spot, [at], [mean])
        return reach, spot

    @staticmethod
    def _key() -> widgets.HTML:
        entries = [
            (look.ACCENT, "dashed", "engine, light skin"),
            (look.PIGMENT, "line", "engine, this skin; bars: 95 % interval of the mean"),
            (look.PIGMENT, "dotted", "this skin, without noise"),
            (look.ACCENT, "diamond", "study, light skin"),
            (look.PIGMENT, "diamond", "study, dark skin; bars: ± standard deviation"),
        ]
        return widgets.HTML(look.key(entries))


class MelaninPlot:
    """Error against melanin at four saturations of the blood, in the engine."""

    def __init__(self, repeats: Repeats, notice: Notice) -> None:
        self._scales = _error_scales(-1.0, 47.0)
        self._up = look.axis(self._scales["y"], "reading less blood, points", vertical=True)
        ticks = np.arange(0.0, 46.0, 15.0)
        across = look.axis(self._scales["x"], "melanin in the epidermis, %", tick_values=ticks)
        self.zero = _zero(self._scales, (-1.0, 47.0))
        self.quiet = make_line(self._scales, 100.0 * MELANIN, look.INK, "dotted", 2.0)
        self.quiet.y = quiet_sweep()
        self.means = [
            make_line(self._scales, 100.0 * MELANIN, colour, style, 2.5)
            for colour, style in zip(SWEPT_COLOURS, SWEPT_STYLES, strict=True)
        ]
        self.bars = [_bars(self._scales, colour, 1.5) for colour in SWEPT_COLOURS]
        marks = [self.zero, self.quiet, *self.bars, *self.means]
        self.figure = look.figure(marks, [across, self._up])
        self.says = look.says()
        body = [self._key(), self.figure, self.says]
        self.widget = look.card("Error against melanin", [self.figure], body, notice)
        self.widget.add_class("ow-tall")
        repeats.drawn_by.append(self)
        self.draw_many(None)

    def show(self, state: SkinTone) -> None:
        """Draw a state: only what is read many times depends on it."""

    def draw_many(self, many: BothSkins | None) -> None:
        """Draw the means at each saturation with their intervals."""
        rows = [None] * SWEPT_PERCENT.size
        if many is not None:
            rows = [ManyReadings(values) for values in many.swept.values]
        for k, row in enumerate(rows):
            x = 100.0 * MELANIN + 0.35 * (k - 1.5)
            draw_repeated(self.means[k], self.bars[k], x, row)
        _fit(self._scales, self._up, [row for row in rows if row], LEAST_SWEPT_ERROR)
        self.says.value = html(melanin_sentence(many))

    @staticmethod
    def _key() -> widgets.HTML:
        kinds = ("line", "dashed", "dashed", "dotted")
        entries = [
            (colour, kind, f"{percent:.0f} %")
            for colour, kind, percent in zip(SWEPT_COLOURS, kinds, SWEPT_PERCENT, strict=True)
        ]
        entries.append((look.INK, "dotted", "65 %, without noise"))
        return widgets.HTML(look.key(entries))


@cache
def quiet_sweep() -> FloatArray:
    """Error without noise at the lowest saturation drawn, over `MELANIN` [points]."""
    lowest = SWEPT_PERCENT[-1:]
    return np.array([SkinTone(melanin_fraction=m).quiet_errors(lowest)[0] for m in MELANIN])


def draw_repeated(
    line: bqplot.Lines, bars: bqplot.Lines, x: FloatArray, repeated: ManyReadings | None
) -> None:
    """Draw means as a line and their intervals as bars; hide both where there are none."""
    known = np.zeros(x.size, bool) if repeated is None else np.isfinite(repeated.mean)
    line.visible = bars.visible = bool(known.any())
    if repeated is None or not known.any():
        return
    mean, half = repeated.mean[known], repeated.half_width[known]
    x = x[known]
    # a line of one point is none: give it its end twice
    place(line, np.append(x, x[-1]), np.append(mean, mean[-1]))
    place(bars, np.stack([x, x], axis=1), np.stack([mean - half, mean + half], axis=1))


def _fit(
    scales: dict[str, bqplot.Scale], up: bqplot.Axis, drawn: list[ManyReadings], least: float
) -> None:
    reach = [np.abs(each.mean) + each.half_width for each in drawn]
    known = [each[np.isfinite(each)] for each in reach]
    largest = max([least, *(float(each.max()) for each in known if each.size)])
    limit = look.nice_limit(largest, LADDER)
    look.set_range(scales["y"], up, -limit, limit)


def _error_scales(low: float, high: float) -> dict[str, bqplot.Scale]:
    return {
        "x": bqplot.LinearScale(min=low, max=high),
        "y": bqplot.LinearScale(min=-1.0, max=1.0),
    }


def _zero(scales: dict[str, bqplot.Scale], ends: tuple[float, float]) -> bqplot.Lines:
    line = make_line(scales, np.array(ends), look.GHOST, "solid", 1.0)
    line.y = np.zeros(2)
    return line


def _bars(scales: dict[str, bqplot.Scale], colour: str, width: float) -> bqplot.Lines:
    return make_line(scales, np.zeros(2), colour, "solid", width)

"""The stage: the bench's parts that a scene shows, made once, covered until revealed."""

from __future__ import annotations

from collections.abc import Callable, Container

import ipywidgets as widgets

from oximetry_workbook.meter.curve import TEXTBOOK
from oximetry_workbook.panels import look
from oximetry_workbook.panels.curve_plot import CurvePlot
from oximetry_workbook.panels.layers_plot import LayersPlot
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.numbers import NumbersStrip
from oximetry_workbook.panels.poll import PollView
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.pulse_plot import PulsePlot
from oximetry_workbook.panels.ratio_plot import RatioPlot
from oximetry_workbook.panels.state_panel import View
from oximetry_workbook.teach.reading import Reading
from oximetry_workbook.teach.scene import PARTS, Scene

NUMBERS = "numbers"
"""The part that is no plot: it stands beside the plots."""


class Part:
    """One part of the bench under its cover.

    Attributes:
        widget: What to put on the page.
        cover: The button that lies over it until it is revealed.
        view: What draws it.
        seen: Whether it is on the screen, and no cover over it.
    """

    def __init__(self, name: str, view: View, reveal: Callable[[str], None]) -> None:
        words = PARTS[name][0].lower() + PARTS[name][1:]
        self.view, self.seen = view, False
        self.cover = widgets.Button(description=f"Reveal {words}")
        self.cover.add_class("ow-cover")
        self.cover.on_click(lambda _: reveal(name))
        self.widget = widgets.Box([view.widget, self.cover])
        self.widget.add_class("ow-part")
        self.widget.add_class(f"ow-part-{name}")

    def place(self, shown: bool, covered: bool) -> None:
        """Put it on the screen or take it off, with its cover on or off."""
        self.seen = shown and not covered
        look.mark(self.widget, "ow-away", not shown)
        look.mark(self.widget, "ow-covered", covered)

    def draw(self, reading: Reading) -> None:
        """Draw a reading; under a cover nothing is drawn that could be found there."""
        if self.seen:
            self.view.show(reading)


class Stage:
    """What the audience looks at.

    Attributes:
        widget: What to put on the page.
        parts: The bench's parts, by the names of `scene.PARTS`.
    """

    def __init__(self, reveal: Callable[[str], None], poll: PollView, notice: Notice) -> None:
        """Make all parts.

        Args:
            reveal: Called with the name of a part whose cover is pressed.
            poll: Stands among the plots where a scene has something to guess.
            notice: Where to tell of a failure.
        """
        self.parts = {
            name: Part(name, view, notice.guard(reveal)) for name, view in _views(notice).items()
        }
        self._plots = widgets.Box([p.widget for name, p in self.parts.items() if name != NUMBERS])
        self._plots.add_class("ow-stage-plots")
        main = widgets.VBox([poll.widget, self._plots])
        main.add_class("ow-stage-main")
        self.widget = widgets.Box([self.parts[NUMBERS].widget, main])
        self.widget.add_class("ow-stage")

    def arrange(self, scene: Scene, covered: Container[str]) -> None:
        """Put a scene's parts on the screen, those still to be revealed under covers."""
        for name, part in self.parts.items():
            part.place(name in scene.shown, name in covered)
        plots = sum(name != NUMBERS for name in scene.shown)
        for count in range(len(PARTS)):
            look.mark(self.widget, f"ow-plots-{count}", count == plots)
        look.mark(self.widget, "ow-numbered", NUMBERS in scene.shown)
        look.mark(self.widget, "ow-polled", bool(scene.guess))

    def draw(self, reading: Reading) -> None:
        """Draw a reading on all parts that can be seen."""
        for part in self.parts.values():
            part.draw(reading)


def _views(notice: Notice) -> dict[str, View]:
    strip = NumbersStrip()
    # the numbers roll while the sliders move; the presenter's own line speaks once they stand
    for child in strip.widget.children:
        child.remove_class("ow-live")
    curve = CurvePlot(TEXTBOOK, notice)
    saturation = curve.figure.axes[1]
    saturation.tick_values = saturation.tick_values[::2]  # in large letters, every ten run together
    return {
        NUMBERS: strip,
        "layers": LayersPlot(notice),
        "pulses": PulsePlot(notice),
        "ratio": RatioPlot(notice),
        "curve": curve,
    }


def head_html(scene: Scene, place: int, count: int) -> str:
    """Write what stands over the stage as HTML: which scene, its title, its question."""
    question = f'<p class="ow-scene-question">{html(scene.question)}</p>' if scene.question else ""
    return (
        f'<div class="ow-scene-head"><h2>{html(scene.title)}</h2>'
        f'<p class="ow-scene-place">{place + 1} of {count}</p></div>{question}'
    )

"""Which assumption about invented volunteers moves the number most."""

from __future__ import annotations

import bqplot
import numpy as np

from oximetry_workbook.panels import look
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.teach.own_study import OwnStudy
from oximetry_workbook.teach.own_study_words import swings_sentence

LADDER = (1.0, 2.0, 4.0, 8.0)
LEAST_SWING = 4.0
"""The axis reaches at least this far on either side of 0 [points]."""

WORDS_MARGIN = {"top": 14, "bottom": 52, "left": 216, "right": 20}


class SwingsPlot:
    """How far each assumption moves a reading, the largest at the top."""

    def __init__(self, notice: Notice) -> None:
        self._across = bqplot.LinearScale(min=-LEAST_SWING, max=LEAST_SWING)
        self._names = bqplot.OrdinalScale(domain=["–"])
        self.bars = bqplot.Bars(
            x=["–"],
            y=[0.0],
            scales={"x": self._names, "y": self._across},
            orientation="horizontal",
            colors=[look.ACCENT],
            padding=0.3,
        )
        self._axis = look.axis(self._across, "points at 80 %")
        names = look.axis(
            self._names, "", vertical=True, tick_format="", grid_lines="none", num_ticks=None
        )
        self.figure = look.figure([self.bars], [self._axis, names], margin=WORDS_MARGIN)
        self.says = look.says()
        body = [self.figure, self.says]
        title = "Which assumption moves the number most"
        self.widget = look.card(title, [self.figure], body, notice)
        self.widget.add_class("ow-tall")

    def show(self, study: OwnStudy) -> None:
        """Draw a study."""
        # the first name of the domain stands at the bottom
        table = study.swings.iloc[::-1]
        names, swing = table["label"].tolist(), table["swing"].to_numpy()
        limit = look.nice_limit(max(LEAST_SWING, float(np.abs(swing).max())), LADDER)
        look.set_range(self._across, self._axis, -limit, limit)
        self._names.domain = names
        with self.bars.hold_sync():
            self.bars.x, self.bars.y = names, swing
        self.says.value = html(swings_sentence(study))

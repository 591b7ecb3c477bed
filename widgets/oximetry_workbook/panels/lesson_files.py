"""A lesson to take away and to bring back: its file, its handout, all of its plots."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import ipywidgets as widgets

from oximetry_workbook.panels.download import MadeFile
from oximetry_workbook.panels.lesson_model import LessonModel
from oximetry_workbook.panels.lesson_pictures import handout, plots_archive
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.teach.lesson_json import lesson_text, read_lesson
from oximetry_workbook.teach.small_files import file_stem, text_of


class LessonFiles:
    """Save and open a lesson, make its handout, take all of its plots along.

    Attributes:
        buttons: For a row of buttons.
        links: Where the links of made files appear.
        upload: Where a lesson's file comes in.
    """

    def __init__(self, model: LessonModel, notice: Notice) -> None:
        self._model = model
        self.save = MadeFile(
            "Save lesson",
            lambda: f"{self._stem()}.json",
            "application/json",
            lambda: iter([(1.0, lesson_text(model.lesson))]),
            notice,
        )
        self.handout = MadeFile(
            "Handout",
            lambda: f"{self._stem()}-handout.html",
            "text/html",
            lambda: handout(model.lesson),
            notice,
        )
        self.plots = MadeFile(
            "All plots",
            lambda: f"{self._stem()}-plots.zip",
            "application/zip",
            lambda: plots_archive(model.lesson),
            notice,
        )
        self.upload = widgets.FileUpload(accept=".json", multiple=False, description="Open lesson")
        self.upload.observe(notice.guard(self._opened), names="value")
        self.buttons = (self.upload, *(each.work.widget for each in self._made))
        self.links = tuple(each.link for each in self._made)

    @property
    def _made(self) -> tuple[MadeFile, ...]:
        return (self.save, self.handout, self.plots)

    def forget(self) -> None:
        """Take links away: the lesson is no longer what they hold."""
        for each in self._made:
            each.forget()

    def _opened(self, change: Mapping[str, Any]) -> None:
        for upload in change["new"]:
            self._model.open(read_lesson(text_of(bytes(upload["content"]), "the file")))

    def _stem(self) -> str:
        return file_stem(self._model.lesson.title, "lesson")

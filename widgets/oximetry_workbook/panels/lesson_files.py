"""A lesson to take away and to bring back: its file, its handout, all of its plots."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from typing import Any

import ipywidgets as widgets

from oximetry_workbook.panels.download import FileButton
from oximetry_workbook.panels.lesson_model import LessonModel
from oximetry_workbook.panels.lesson_pictures import handout, plots_archive
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.work import Work
from oximetry_workbook.teach.lesson_json import lesson_text, read_lesson


class MadeFile:
    """A button that makes a file in slices and then offers it.

    Attributes:
        work: The button, its progress and its Cancel.
        widget: What to put on the page.
    """

    def __init__(
        self,
        words: str,
        file_name: Callable[[], str],
        mime: str,
        start: Callable[[], Iterator[tuple[float, Any]]],
        notice: Notice,
    ) -> None:
        """Make the button; `start` begins to make the file, whose content comes last."""
        self._mime, self._name, self._notice = mime, file_name, notice
        self.work = Work(start, self._take, notice, words)
        self._link = widgets.HBox()
        self.widget = widgets.HBox([self.work.widget, self._link])

    def forget(self) -> None:
        """Leave off, and take the link away: the lesson has changed."""
        if self.work.running:
            self.work.cancel()
        self._link.children = ()

    def _take(self, content: Any) -> None:
        if content is not None:
            button = FileButton("", self._name(), self._mime, lambda: content, self._notice)
            button.offer()
            self._link.children = (button.link,)


class LessonFiles:
    """Save and open a lesson, make its handout, take all of its plots along.

    Attributes:
        widgets: The parts, for a row of buttons.
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
        self.widgets = (self.upload, *(each.widget for each in self._made))

    @property
    def _made(self) -> tuple[MadeFile, ...]:
        return (self.save, self.handout, self.plots)

    def forget(self) -> None:
        """Take links away: the lesson is no longer what they hold."""
        for each in self._made:
            each.forget()

    def _opened(self, change: Mapping[str, Any]) -> None:
        for upload in change["new"]:
            try:
                text = bytes(upload["content"]).decode("utf-8-sig")
            except UnicodeDecodeError:
                raise ValueError("the file is not text, so it is no lesson") from None
            self._model.lesson = read_lesson(text)
            self._model.go(0)

    def _stem(self) -> str:
        words = re.sub(r"[^\w]+", "-", self._model.lesson.title.lower(), flags=re.ASCII)
        return words.strip("-")[:60] or "lesson"

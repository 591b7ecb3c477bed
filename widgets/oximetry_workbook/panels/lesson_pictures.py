"""Pictures of a lesson's scenes, drawn on a bench of its own that nobody sees."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator

from oximetry_workbook.panels.bench import Bench
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.report import figures_of
from oximetry_workbook.panels.still import NARROW
from oximetry_workbook.panels.still_card import Card
from oximetry_workbook.teach.bench_state import BenchState
from oximetry_workbook.teach.page_lesson import ScenePictures, lesson_page
from oximetry_workbook.teach.scene import Lesson, Scene
from oximetry_workbook.teach.small_files import file_stem

PICTURED = ("layers", "pulses", "ratio", "curve")
"""Parts of the bench that are plots, in the order of `Bench.plots`."""


class Sitter:
    """A bench that takes up one scene after the other to be drawn."""

    def __init__(self) -> None:
        self._bench = Bench()

    def cards(self, scene: Scene) -> dict[str, Card]:
        """Take up a scene; return its plots by part of the bench, only those that it shows."""
        self._bench.open(BenchState.of(scene.scenario, scene.curve))
        plots = zip(PICTURED, self._bench.plots, strict=True)
        return {part: plot.widget for part, plot in plots if part in scene.shown}


def handout(lesson: Lesson) -> Iterator[tuple[float, str | None]]:
    """Make the handout of a lesson.

    Yields:
        Share done, and the page as HTML; None before it is ready.
    """
    sitter, pictures = Sitter(), []
    for done, scene in enumerate(lesson.scenes, 1):
        drawn: dict[bool, list] = {False: [], True: []}
        for part, card in sitter.cards(scene).items():
            # the same plot stands on the page many times, and names inside it must differ
            drawn[part in scene.covered] += figures_of([card], f"scene-{done}-", NARROW)
            yield (done - 0.5) / len(lesson.scenes), None
        pictures.append(ScenePictures(tuple(drawn[False]), tuple(drawn[True])))
    yield 1.0, lesson_page(lesson, pictures).html(html)


def plots_archive(lesson: Lesson) -> Iterator[tuple[float, bytes | None]]:
    """Put all plots of a lesson into a zip archive, each as SVG and as PNG.

    Yields:
        Share done, and the archive; None before it is ready.
    """
    sitter, content = Sitter(), io.BytesIO()
    with zipfile.ZipFile(content, "w", zipfile.ZIP_DEFLATED) as archive:
        for number, scene in enumerate(lesson.scenes, 1):
            folder = f"{number:02d}-{file_stem(scene.title, 'scene')}"
            for card in sitter.cards(scene).values():
                still = card.still()
                archive.writestr(f"{folder}/{card.file_stem}.svg", still.svg())
                archive.writestr(f"{folder}/{card.file_stem}.png", still.png())
                yield (number - 0.5) / len(lesson.scenes), None
    yield 1.0, content.getvalue()

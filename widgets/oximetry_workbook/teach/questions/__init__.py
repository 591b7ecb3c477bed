"""Each chapter's questions: one to predict from, and checkpoints at the end.

Every module here has `prediction()`, which returns a `ChoiceQuestion`, and `checkpoints()`,
which returns at least four questions. Answers are computed when asked for.
"""

from __future__ import annotations

from importlib import import_module
from types import ModuleType
from typing import cast

from oximetry_workbook.teach.checkpoint import ChoiceQuestion, Question

CHAPTERS = (
    "oxygen",
    "colour",
    "pulse",
    "ratio",
    "curve",
    "bench",
    "weak",
    "light",
    "skin",
    "other_blood",
    "late",
    "below",
    "home",
    "recording",
    "study",
)
"""Keys of the chapters that have questions, in the order of reading."""


def prediction(chapter: str) -> ChoiceQuestion:
    """Return the question to guess at before a chapter's panel.

    Raises:
        ValueError: For an unknown chapter.
    """
    return cast(ChoiceQuestion, _module(chapter).prediction())


def checkpoints(chapter: str) -> tuple[Question, ...]:
    """Return the questions at the end of a chapter.

    Raises:
        ValueError: For an unknown chapter.
    """
    return cast(tuple[Question, ...], _module(chapter).checkpoints())


def _module(chapter: str) -> ModuleType:
    if chapter not in CHAPTERS:
        raise ValueError(f"chapter is {chapter!r}; choose one of {', '.join(CHAPTERS)}")
    return import_module(f"{__name__}.{chapter}")

"""Finds the workbook's notebooks and tells the chapters from their files."""

from __future__ import annotations

import json
import shutil
from dataclasses import dataclass
from pathlib import Path

HERE = Path(__file__).resolve().parent
PACKAGED = HERE / "workbook"
"""Where a wheel carries the notebooks."""
REPOSITORY = HERE.parents[2] / "workbook"
"""Where a checkout or an editable install keeps them, beside widgets/."""
COPIES = "oximetry-notebooks"
"""The folder that receives a learner's own copies, in the folder the command was called from."""


class NotebooksMissingError(Exception):
    """No notebooks where they ought to be; the message says where and what to do."""


@dataclass(frozen=True)
class Chapter:
    """One notebook as the navigation names it.

    Attributes:
        notebook: File name, such as "02_colour_of_blood.ipynb".
        number: The digits the file name starts with, such as "02"; empty without any.
        title: What the chapter is called, such as "The colour of blood".
    """

    notebook: str
    number: str
    title: str


def find_folder(chosen: Path | None = None, packaged: Path = PACKAGED) -> Path:
    """Return the folder of notebooks to open.

    Args:
        chosen: A folder the user asks for; without it the packaged notebooks, else the
            repository's own.
        packaged: Where a wheel carries the notebooks.

    Raises:
        NotebooksMissingError: That folder holds no notebook.
    """
    folder = chosen or (packaged if _notebooks(packaged) else REPOSITORY)
    if not _notebooks(folder):
        remedy = "name another with --notebooks" if chosen else "install the package again"
        raise NotebooksMissingError(f"No notebooks (.ipynb) found in {folder}: {remedy}.")
    return folder.resolve()


def chapters(folder: Path) -> list[Chapter]:
    """Return the chapters in the order of their file names.

    The title is the notebook's metadata entry "title"; without one, the file name in words.
    """
    return [_chapter(path) for path in _notebooks(folder)]


def learners_copy(folder: Path, beside: Path, packaged: Path = PACKAGED) -> Path:
    """Return a folder in which the notebooks may be edited.

    Packaged notebooks are copied into `beside`, so that nobody edits the installed package;
    a file that is already there is left as it is. Any other folder is the user's own and is
    returned unchanged.
    """
    if folder != packaged.resolve():
        return folder
    copies = beside / COPIES
    ignore = shutil.ignore_patterns(".*", "__pycache__")
    shutil.copytree(
        folder, copies, ignore=ignore, copy_function=_copy_if_absent, dirs_exist_ok=True
    )
    return copies


def _notebooks(folder: Path) -> list[Path]:
    return sorted(path for path in folder.glob("*.ipynb") if not path.name.startswith("."))


def _chapter(path: Path) -> Chapter:
    words = path.stem.lstrip("0123456789")
    number = path.stem[: len(path.stem) - len(words)]
    title = _metadata_title(path) or words.replace("_", " ").strip().capitalize() or path.stem
    return Chapter(notebook=path.name, number=number, title=title)


def _metadata_title(path: Path) -> str:
    try:
        notebook = json.loads(path.read_text(encoding="utf-8"))
    except ValueError:
        # A broken notebook still gets its link; opening it tells what is wrong with it.
        return ""
    return str(notebook.get("metadata", {}).get("title", ""))


def _copy_if_absent(source: str, target: str) -> str:
    return target if Path(target).exists() else str(shutil.copy2(source, target))

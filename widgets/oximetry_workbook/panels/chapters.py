"""The start page: where to begin, and the list of chapters."""

from __future__ import annotations

from dataclasses import dataclass

import ipywidgets as widgets

from oximetry_workbook.panels import look
from oximetry_workbook.panels.prose import NO_BREAK_SPACE, html
from oximetry_workbook.panels.tables import table


@dataclass(frozen=True)
class Chapter:
    """One notebook and what it is good for.

    Attributes:
        notebook: File name.
        title: Name for people.
        explains: What the reader can explain afterwards.
        minutes: About how long it takes.
        questions: Key of its questions in `teach.questions`; None where there are none.
    """

    notebook: str
    title: str
    explains: str
    minutes: int
    questions: str | None

    @property
    def number(self) -> str:
        """The number that its file name starts with, such as "02"."""
        return self.notebook.split("_", 1)[0]


CHAPTERS = (
    Chapter(
        "01_oxygen_on_board.ipynb",
        "Oxygen on board",
        "What saturation is and what it is not: why 90 % is a shoulder, what shifts the curve, "
        "why anaemia and carbon monoxide hide, what altitude does.",
        15,
        "oxygen",
    ),
    Chapter(
        "02_colour_of_blood.ipynb",
        "The colour of blood",
        "Why arterial blood is brighter than venous blood, and why a meter uses one red and one "
        "infrared light.",
        15,
        "colour",
    ),
    Chapter(
        "03_steady_and_pulsing.ipynb",
        "Steady and pulsing",
        "What takes the light in a finger, how little of it the heart moves, and why only that "
        "little speaks for the arteries.",
        15,
        "pulse",
    ),
    Chapter(
        "04_ratio_of_ratios.ipynb",
        "The ratio of ratios",
        "What cancels and what does not when the pulse is divided by the steady light, and red by "
        "infrared.",
        15,
        "ratio",
    ),
    Chapter(
        "05_from_ratio_to_number.ipynb",
        "From ratio to number",
        "Why the curve is measured on volunteers, how, and what it is worth below 70 %.",
        20,
        "curve",
    ),
    Chapter(
        "06_bench.ipynb",
        "The bench",
        "The whole chain at once: from light through a finger over the pulse and the ratio R to "
        "the number shown, with sliders for saturation, perfusion, heart rate and noise.",
        20,
        "bench",
    ),
    Chapter(
        "07_weak_pulse_and_motion.ipynb",
        "Weak pulse and motion",
        "What cold does at finger, ear, forehead and wrist, where moving hands draw a "
        "reading, and why an irregular heart hardly touches it.",
        25,
        "weak",
    ),
    Chapter(
        "08_wrong_light.ipynb",
        "Wrong light",
        "What room light, a loose probe, nail varnish and stray LEDs do to a reading, and "
        "why the number stays believable.",
        20,
        "light",
    ),
    Chapter(
        "09_skin_tone.ipynb",
        "Skin tone",
        "What melanin does to the light, why simple optics predicts hardly any error, what "
        "studies in people found all the same, and how to speak of the gap.",
        20,
        "skin",
    ),
    Chapter(
        "10_other_blood.ipynb",
        "Other blood",
        "Why carbon monoxide hides, where methaemoglobin draws the number, what anaemia and "
        "dyes do to it; functional against fractional saturation.",
        20,
        "other_blood",
    ),
    Chapter(
        "11_late_news.ipynb",
        "Late news",
        "Why the number is old news, how old at the ear and at a finger, what averaging does "
        "to it, and why an alarm that is never false comes late or not at all.",
        20,
        "late",
    ),
    Chapter(
        "12_below_70.ipynb",
        "Below 70 %",
        "What a number below 70 % rests on, how far curves part there, and what it is still "
        "worth: very low, and whether it rises or falls.",
        15,
        "below",
    ),
    Chapter(
        "13_wrist_and_home.ipynb",
        "On the wrist and at home",
        "What one low reading says to somebody who feels well, what a repeat is worth, and "
        "why the wrist is a harder place than the finger.",
        20,
        "home",
    ),
    Chapter(
        "14_your_own_recording.ipynb",
        "Your own recording",
        "What a file must hold to give a saturation, what to look at before measuring, why "
        "some stretches give no number, and why one that does may still be wrong.",
        20,
        "recording",
    ),
    Chapter(
        "15_a_desaturation_study.ipynb",
        "A desaturation study",
        "How a curve and an accuracy claim are won from volunteers, or from a file of your "
        "own; bias, A_rms, limits of agreement, and what the data cannot show.",
        25,
        "study",
    ),
    Chapter(
        "16_words.ipynb",
        "Words",
        "What each word of the workbook means, its unit, and the chapter where it is met: to look "
        "up, not to read through.",
        5,
        None,
    ),
    Chapter(
        "17_teach_a_lesson.ipynb",
        "Teach a lesson",
        "For lecturers: put scenes into a lesson, let the room guess, reveal, and send people home "
        "with a handout.",
        20,
        None,
    ),
)
"""Chapters in the order of reading."""


@dataclass(frozen=True)
class ReadingPath:
    """A way through the workbook for one kind of reader.

    Attributes:
        who: Who takes it.
        advice: What to do first, and what afterwards.
        numbers: Numbers of its chapters, in order.
    """

    who: str
    advice: str
    numbers: tuple[str, ...]

    @property
    def chapters(self) -> tuple[Chapter, ...]:
        """Its chapters, in its order."""
        by_number = {chapter.number: chapter for chapter in CHAPTERS}
        return tuple(by_number[number] for number in self.numbers)

    @property
    def minutes(self) -> int:
        """About how long its chapters take together."""
        return sum(chapter.minutes for chapter in self.chapters)


PATHS = (
    ReadingPath(
        "You learn on your own",
        "Guess at the first question, then try the steps above each panel. One chapter at a "
        "sitting is plenty. Then take from 07 to 13 what you meet in practice.",
        ("01", "02", "03", "04", "05", "06"),
    ),
    ReadingPath(
        "You teach, and have twenty minutes to prepare",
        "Open a lesson that comes along in 17, or set one situation on the bench, and let the room "
        "guess before you show it. With more time, read the chapter that your situation belongs "
        "to, from 07 to 12.",
        ("17",),
    ),
    ReadingPath(
        "You build meters, or answer for them",
        "Read “Where it misleads” first. Have a recording or pairs with blood at hand, as CSV. "
        "Chapters 10 to 12 tell what users will ask next.",
        ("04", "05", "08", "09", "14", "15"),
    ),
    ReadingPath(
        "You have a reading at home, or are asked about one",
        "Read what a single low number means, and what a repeat is worth. This cannot judge your "
        "reading. If you are worried or unwell, ask a clinician.",
        ("13",),
    ),
)
"""Ways through the workbook, the beginner's first."""

PATH_HEADS = ("Who you are", "What to do", "Chapters", "Time")


def paths() -> widgets.VBox:
    """Show where a beginner starts, and ways through the workbook for other readers."""
    first = PATHS[0].chapters[0]
    begin = (
        f'<p class="ow-live"><strong>New to all this?</strong> Begin with {link(first)}. It takes '
        f"{html(f'about {first.minutes} minutes')}. Then go on in order.</p>"
    )
    rows = ((html(path.who), *_told(path)) for path in PATHS)
    shown = widgets.VBox([look.style(), widgets.HTML(begin + table(PATH_HEADS, rows))])
    shown.add_class("ow-panel")
    return shown


def _told(path: ReadingPath) -> tuple[str, ...]:
    return (
        html(path.advice),
        "<br>".join(map(link, path.chapters)),
        html(f"about {path.minutes} minutes"),
    )


def link(chapter: Chapter) -> str:
    """Write a link to a chapter as HTML: number and title, kept on one line."""
    words = f"{chapter.number} {chapter.title}".replace(" ", NO_BREAK_SPACE)
    return f'<a href="{chapter.notebook}">{html(words)}</a>'


def chapters() -> widgets.VBox:
    """Show the chapters as cards that lead to their notebooks."""
    cards = "".join(_card(chapter) for chapter in CHAPTERS)
    shown = widgets.VBox(
        [look.style(), widgets.HTML(f'<div class="ow-chapter-cards">{cards}</div>')]
    )
    shown.add_class("ow-panel")
    return shown


def _card(chapter: Chapter) -> str:
    progress = f'<em data-ow-progress-of="{chapter.questions}"></em>' if chapter.questions else ""
    return (
        f'<a class="ow-chapter-card" href="{chapter.notebook}">'
        f'<span class="ow-chapter-number">{chapter.number}</span>'
        f"<strong>{html(chapter.title)}</strong>"
        f"<span>{html(chapter.explains)}</span>"
        f"<em>{html(f'about {chapter.minutes} minutes')}</em>{progress}</a>"
    )

"""The list of chapters on the start page."""

from __future__ import annotations

from dataclasses import dataclass

import ipywidgets as widgets

from oximetry_workbook.panels import look
from oximetry_workbook.panels.prose import html


@dataclass(frozen=True)
class Chapter:
    """One notebook and what it is good for.

    Attributes:
        notebook: File name.
        title: Name for people.
        explains: What the reader can explain afterwards.
        minutes: About how long it takes.
        questions: Key of its questions in `teach.questions`.
    """

    notebook: str
    title: str
    explains: str
    minutes: int
    questions: str


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
)
"""Chapters in the order of reading."""


def chapters() -> widgets.VBox:
    """Show the chapters as cards that lead to their notebooks."""
    cards = "".join(_card(chapter) for chapter in CHAPTERS)
    shown = widgets.VBox(
        [look.style(), widgets.HTML(f'<div class="ow-chapter-cards">{cards}</div>')]
    )
    shown.add_class("ow-panel")
    return shown


def _card(chapter: Chapter) -> str:
    number = chapter.notebook.split("_", 1)[0]
    return (
        f'<a class="ow-chapter-card" href="{chapter.notebook}">'
        f'<span class="ow-chapter-number">{number}</span>'
        f"<strong>{html(chapter.title)}</strong>"
        f"<span>{html(chapter.explains)}</span>"
        f"<em>{html(f'about {chapter.minutes} minutes')}</em>"
        f'<em data-ow-progress-of="{chapter.questions}"></em></a>'
    )

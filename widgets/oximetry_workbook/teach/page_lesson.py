"""The handout of a lesson: what was shown, said and asked; answers on the last page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from oximetry_workbook.meter.display import rounded
from oximetry_workbook.teach.explain import STUDENTS, explain
from oximetry_workbook.teach.page import (
    Abreast,
    Block,
    Bullets,
    Figure,
    Page,
    Paragraph,
    Section,
    Subheading,
    Table,
)
from oximetry_workbook.teach.page_made import made_with
from oximetry_workbook.teach.reading import Reading
from oximetry_workbook.teach.scene import GUESSES, Lesson, Scene
from oximetry_workbook.teach.words import figure, main_sentence, percent, reading_numbers, signed

CAUTION = (
    "A teaching tool: all of this is simulated. Not for diagnosis or patient care, and no word "
    "about any one person or device. Follow local protocols and licensed practice."
)

SOURCES = (
    "Haemoglobin spectra: W. B. Gratzer and N. Kollias, as tabulated by S. Prahl; W. G. Zijlstra, "
    "A. Buursma and O. W. van Assendelft (2000), Visible and Near Infrared Absorption Spectra of "
    "Human and Animal Haemoglobin.",
    "Tissue: S. L. Jacques (2013), Optical properties of biological tissues: a review, Phys Med "
    "Biol 58:R37. Blood volumes and distances: common practice.",
    "Light in tissue: D. Contini, F. Martelli and G. Zaccanti (1997), Photon migration through a "
    "turbid slab described by a model based on diffusion approximation, Appl Opt 36:4587.",
    "Range in which meters are held against blood, 70 to 100 %: FDA, Pulse Oximeters: Premarket "
    "Notification Submissions, guidance of 4 March 2013, docket FDA-2007-D-0205.",
    "What people usually do about a doubtful number: common practice; local protocols decide.",
)

CHAIN = "From light to number, with the numbers of scene 1"
SHORT = "What this shows, and what it does not"
LIMITS = (
    "The person is invented; real people spread around every curve.",
    "Volunteers’ data end at 70 %. Below that, a number says “very low”, not how low.",
    "Two colours cannot tell haemoglobin with carbon monoxide from haemoglobin with oxygen.",
    "Clinical studies found more error in darker skin than simple optics explains.",
)


@dataclass(frozen=True)
class ScenePictures:
    """Pictures of a scene by part of the bench: those to see at once, and those to guess first."""

    open: tuple[Figure, ...] = ()
    covered: tuple[Figure, ...] = ()


def lesson_page(lesson: Lesson, pictures: Sequence[ScenePictures]) -> Page:
    """Make the handout of a lesson.

    Args:
        lesson: The lesson.
        pictures: Of each scene, in their order.

    Raises:
        ValueError: When there are not as many pictures as scenes.
    """
    if len(pictures) != len(lesson.scenes):
        raise ValueError(f"there are {len(pictures)} pictures for {len(lesson.scenes)} scenes")
    told = list(zip(lesson.scenes, pictures, strict=True))
    scenes = [_scene(number, *each) for number, each in enumerate(told, 1)]
    return Page(
        title=lesson.title,
        subtitle=lesson.audience or "A lesson on pulse oximetry",
        sections=(
            *scenes,
            Section(SHORT, (Bullets(LIMITS),)),
            Section("Sources", (Bullets(SOURCES),)),
            Section("Answers", tuple(_answers(told)), new_page=True),
        ),
        caution=CAUTION,
        footer=made_with(),
    )


def _scene(number: int, scene: Scene, pictures: ScenePictures) -> Section:
    blocks: list[Block] = []
    if scene.spoken:
        blocks.append(Paragraph(scene.spoken))
    if "numbers" in scene.shown and "numbers" not in scene.covered:
        blocks.append(numbers_table(number, scene.reading()))
    blocks.append(Abreast(pictures.open))
    if scene.question:
        blocks += [Subheading("Question"), Paragraph(scene.question)]
    if scene.guess:
        guess = GUESSES[scene.guess]
        blank = f"________ {guess.unit}".rstrip()
        blocks.append(Paragraph(f"My guess of {guess.label}: {blank}"))
    return Section(f"{number}. {scene.title}", tuple(blocks))


def _answers(told: Sequence[tuple[Scene, ScenePictures]]) -> list[Block]:
    blocks: list[Block] = []
    for number, (scene, pictures) in enumerate(told, 1):
        reading = scene.reading()
        blocks.append(Subheading(f"{number}. {scene.title}"))
        if scene.guess:
            blocks.append(Paragraph(_truth(scene)))
        blocks.append(Paragraph(main_sentence(reading)))
        if "numbers" in scene.covered or "numbers" not in scene.shown:
            blocks.append(numbers_table(number, reading))
        blocks.append(Abreast(pictures.covered))
    # once: five sentences for every scene would be almost the same each time
    first = told[0][0].reading()
    blocks += [Subheading(CHAIN), Paragraph(" ".join(explain(first, STUDENTS)))]
    return blocks


def _truth(scene: Scene) -> str:
    guess, truth = GUESSES[scene.guess], scene.truth()
    label = guess.label[0].upper() + guess.label[1:]
    if truth is None:
        return f"{label}: no number is shown."
    return f"{label}: {truth_text(scene.guess, truth)}."


def truth_text(guess: str, truth: float) -> str:
    """Write the number that was to be guessed as the bench writes it, with its unit."""
    written = {
        "shown": percent,
        "carried": lambda value: f"{figure(value, 3)} %",
        "error": lambda value: f"{signed(value)} points",
        "ratio": lambda value: f"{value:.2f}",
        "pulse_rate": lambda value: f"{rounded(value)} per minute",
        "perfusion_index": lambda value: f"{figure(value)} %",
    }
    return written[guess](truth)


def numbers_table(number: int, reading: Reading) -> Table:
    """Return the numbers of a scene's reading as a table of one row."""
    numbers = reading_numbers(reading)
    return Table("Numbers of this scene", ("Scene", *numbers), ((str(number), *numbers.values()),))

"""The workbook's words: what each means, its unit, and the chapter where it is met."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass


@dataclass(frozen=True)
class Term:
    """One word of the trade.

    Attributes:
        word: The term; other names of it follow after a comma.
        meaning: What it means, in one plain sentence.
        unit: Its unit as the workbook shows it; empty for what is not a quantity.
        chapter: Number of the chapter where it is met, such as "03".
    """

    word: str
    meaning: str
    unit: str
    chapter: str


NUMBER = "no unit"

GLOSSARY = (
    Term(
        "2,3-DPG",
        "A substance of red cells; the more of it, the sooner haemoglobin lets go of oxygen.",
        "mmol/L",
        "01",
    ),
    Term(
        "A_rms",
        "The size of a typical error: the root of the mean of all squared errors.",
        "points",
        "05",
    ),
    Term(
        "Absorbance",
        "How many powers of ten a layer takes from the light: 1 leaves a tenth.",
        NUMBER,
        "03",
    ),
    Term(
        "AC",
        "The pulsing part of the light, from peak to trough of a beat.",
        "that of the light",
        "04",
    ),
    Term(
        "Ambient light",
        "Light of the room that reaches the detector beside that of the LEDs.",
        "% of the light",
        "08",
    ),
    Term(
        "Averaging",
        "Making one number of several seconds of readings, which makes it steady and late.",
        "s",
        "11",
    ),
    Term(
        "Bias",
        "The mean error: above zero when a meter reads too high on the whole.",
        "points",
        "05",
    ),
    Term(
        "Bland–Altman plot",
        "Each error drawn over the mean of both methods, with bias and limits of agreement.",
        "",
        "15",
    ),
    Term(
        "Calibration curve",
        "The line by which a meter turns R into a saturation, measured on volunteers.",
        "",
        "14",
    ),
    Term("Cardiac output", "How much blood the heart pumps in a minute.", "L/min", "01"),
    Term(
        "CO-oximeter",
        "A laboratory instrument that tells the haemoglobins of a sample apart, by many colours.",
        "",
        "10",
    ),
    Term(
        "COHb, carboxyhaemoglobin",
        "Haemoglobin that carbon monoxide has taken, as a share of all haemoglobin.",
        "%",
        "10",
    ),
    Term("DC", "The steady part of the light, its mean over a beat.", "that of the light", "04"),
    Term(
        "Delivery",
        "How much oxygen the heart sends to the body: content times cardiac output.",
        "mL/min",
        "01",
    ),
    Term(
        "Diffusion",
        "A way to reckon how light wanders through tissue that scatters it many times.",
        "",
        "05",
    ),
    Term(
        "Dissociation curve",
        "How full haemoglobin is at each pressure of oxygen.",
        "% over mmHg",
        "01",
    ),
    Term("Epidermis", "The outermost layer of the skin, which holds the melanin.", "", "03"),
    Term(
        "Extinction",
        "How strongly a substance takes light of one wavelength, for a given amount of it.",
        "cm⁻¹ per mol/L",
        "02",
    ),
    Term("False alarm", "An alarm while the blood carries enough oxygen.", "alarms per hour", "11"),
    Term(
        "Fractional saturation",
        "Haemoglobin with oxygen, as a share of all haemoglobin, whatever its state.",
        "%",
        "10",
    ),
    Term(
        "Functional saturation",
        "Haemoglobin with oxygen, as a share of that which can carry oxygen.",
        "%",
        "10",
    ),
    Term(
        "Haemoglobin",
        "The red protein in red cells that carries nearly all the oxygen of the blood.",
        "g/L",
        "01",
    ),
    Term("HbO₂", "Haemoglobin with oxygen.", "", "10"),
    Term("HHb", "Haemoglobin that has given up its oxygen.", "", "10"),
    Term("Hüfner’s number", "How much oxygen a gram of haemoglobin binds.", "mL/g", "01"),
    Term(
        "Isosbestic point",
        "The wavelength at which haemoglobin absorbs alike with and without oxygen.",
        "nm",
        "02",
    ),
    Term(
        "LED", "A small lamp of nearly one colour; a meter has a red and an infrared one.", "", "02"
    ),
    Term(
        "Limits of agreement",
        "Bias less and plus 1.96 times the standard deviation: 95 % of single errors lie between, "
        "if they are normal.",
        "points",
        "15",
    ),
    Term(
        "Melanin",
        "The pigment of skin, which takes more red than infrared light.",
        "share of volume",
        "09",
    ),
    Term(
        "MetHb, methaemoglobin",
        "Haemoglobin whose iron has changed so that it carries no oxygen, as a share of all.",
        "%",
        "10",
    ),
    Term(
        "Noise",
        "Chance fluctuation of the light measured, larger where less light arrives.",
        "% of the light",
        "06",
    ),
    Term("Oxygen content", "How much oxygen is in the blood, bound and dissolved.", "mL/dL", "01"),
    Term("P50", "The oxygen pressure at which haemoglobin is half full.", "mmHg", "01"),
    Term(
        "PaCO₂",
        "Pressure of carbon dioxide in arterial blood, the lower the more somebody breathes.",
        "mmHg",
        "01",
    ),
    Term(
        "Perfusion index",
        "The pulse of the infrared light, from peak to trough, as a share of its mean.",
        "%",
        "03",
    ),
    Term(
        "Plethysmogram",
        "The wave of a monitor that shows how the blood in the finger comes and goes.",
        "",
        "03",
    ),
    Term(
        "PO₂",
        "Pressure of oxygen, which drives it from the lungs to the blood and on to the tissue.",
        "mmHg",
        "01",
    ),
    Term(
        "Points",
        "The unit of differences between saturations: from 97 to 95 % it is 2 points.",
        "points",
        "03",
    ),
    Term(
        "Precision",
        "How far single errors scatter about the bias, as a standard deviation.",
        "points",
        "05",
    ),
    Term("Probe", "The clip with the LEDs and the detector that a curve belongs to.", "", "05"),
    Term("Pulse rate", "Beats found in the light, per minute.", "per min", "14"),
    Term(
        "Ratio of ratios, R",
        "AC over DC of red light, divided by AC over DC of infrared light.",
        NUMBER,
        "04",
    ),
    Term(
        "Robust fit",
        "A way to draw a curve in which single points far off count for less.",
        "",
        "15",
    ),
    Term("Sampling rate", "How many times a second the light is recorded.", "Hz", "14"),
    Term(
        "SaO₂",
        "The saturation of the blood in the arteries, as a sample of blood tells it.",
        "%",
        "01",
    ),
    Term(
        "Scattering",
        "What tissue does to light when it turns it aside without taking it.",
        "1/cm",
        "05",
    ),
    Term(
        "Shoulder",
        "The place on the dissociation curve, near 90 %, where the plateau turns into the slope.",
        "",
        "01",
    ),
    Term("SpO₂", "The saturation that a pulse oximeter shows, an estimate of SaO₂.", "%", "01"),
    Term(
        "Validated range",
        "The saturations at which a curve was held against blood, from 70 to 100 %.",
        "%",
        "15",
    ),
    Term(
        "Vasoconstriction",
        "The narrowing of vessels, as in the cold, which weakens the pulse.",
        "%",
        "07",
    ),
    Term(
        "Venous blood",
        "Blood on its way back to the heart, with less oxygen and darker in red light.",
        "",
        "03",
    ),
    Term("Window", "A stretch of a recording that is read by itself.", "s", "14"),
    Term(
        "Withheld reading",
        "A reading that a meter does not show, since the signal does not bear it.",
        "",
        "14",
    ),
)
"""In alphabetic order."""


def matching(wanted: str) -> tuple[Term, ...]:
    """Return the terms that have a text in their word or meaning, however it is written.

    Capitals do not matter, nor whether a number is set low: "spo2" finds SpO₂.

    Args:
        wanted: What to look for; nothing or spaces find everything.
    """
    plain_wanted = plain(wanted)
    return tuple(term for term in GLOSSARY if plain_wanted in plain(f"{term.word} {term.meaning}"))


def plain(text: str) -> str:
    """Return the text as it is compared: small letters, plain numbers and apostrophes."""
    return unicodedata.normalize("NFKC", text).replace("’", "'").casefold().strip()

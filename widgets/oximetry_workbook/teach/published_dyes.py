"""What people's meters showed after a dye, as published."""

from __future__ import annotations

from typing import NamedTuple


class PublishedDye(NamedTuple):
    """What people's meters did after a dye.

    Attributes:
        mg_per_l: The dose spread through 5 litres of blood, our own reckoning [mg/L].
        lowest_percent: Lowest reading [%]; None where only the fall is published.
        fall_points: Fall of the reading [points]; None where only the reading is published.
        source: Whose finding.
    """

    mg_per_l: float
    lowest_percent: float | None
    fall_points: float | None
    source: str


_TOLD = "Scheller and others 1986, as told by the American Society of Anesthesiologists"
"""A question for continuing education, 2018: a mean nadir of 65 %. The paper was not opened."""

PUBLISHED_DYES = {
    "methylene blue": PublishedDye(10.0, 65.0, None, _TOLD),
    "indocyanine green": PublishedDye(2.5, None, 1.9, "Yoo and others 2015"),
    "indigo carmine": PublishedDye(8.0, 92.0, None, "Scheller and others 1986, from memory"),
}
"""Doses: 5 mL of 1 % methylene blue; 12.5 mg; 5 mL of 0.8 % (from memory)."""

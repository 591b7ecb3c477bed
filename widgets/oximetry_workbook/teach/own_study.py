"""A desaturation study: volunteers or a learner's own file, a fitted curve, and its accuracy."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from oximetry_workbook.body.quantities import check_fields, choice, quantity
from oximetry_workbook.study.accuracy import Accuracy, StudyPairs, accuracy, read_pairs
from oximetry_workbook.study.calibration_fit import Calibration, calibrate
from oximetry_workbook.study.population import Population
from oximetry_workbook.study.sensitivity import assumptions, one_at_a_time, reading_model
from oximetry_workbook.study.volunteers import Protocol, desaturation_study, draw_people

FloatArray = NDArray[np.float64]

INVENTED, OWN_FILE = "invented volunteers", "my own file"
NEW_CURVE, METERS_OWN = "the new curve", "the meter’s own"
METHODS = {"least squares": "least squares", "robust": "huber"}

PLATEAUS = 7
RESAMPLES = 400
"""Resampled studies for the intervals: they take some hundredths of a second."""

SWING_AT_PERCENT = 80.0
"""True saturation at which assumptions are moved [%]."""

SPREADS = (
    "blood_volume_spread",
    "thickness_sd",
    "scattering_spread",
    "haemoglobin_sd_g_per_l",
    "venous_difference_sd",
    "red_peak_sd_nm",
    "infrared_peak_sd_nm",
    "perfusion_spread",
)
"""Fields of a `Population` that the panel's spread multiplies; pigment keeps its range."""


@dataclass(frozen=True)
class _Uploaded:
    """Check of the pairs that a file brought."""

    label: str = "Own pairs"

    def checked(self, name: str, value: object) -> StudyPairs | None:
        """Return pairs or None, or raise ValueError."""
        if value is not None and not isinstance(value, StudyPairs):
            raise ValueError(f"{name} is {value!r}; give what read_pairs returns, or None")
        return value


@dataclass(frozen=True)
class OwnStudy:
    """A study with its curve and its errors: the state of the panel.

    All is reckoned when it is made, so that a state that cannot be reckoned is refused whole.

    Attributes:
        source: Invented volunteers or the file read last.
        subjects: Invented volunteers.
        spread: How far they and their probes differ, relative to `Population`.
        lowest_percent: Lowest plateau [%].
        seed: Of people, places and chance.
        form: Form of the curve.
        method: Least squares, or robust (Huber's estimate).
        judged: Whether errors are those of the curve fitted here or of the meter's own reading.
        uploaded: Pairs of a file.

    Raises:
        ValueError: A field is out of range, the pairs lack what is asked for, or the form cannot
            be fitted to them; the message says what to do.
    """

    source: str = choice("Pairs from", INVENTED, OWN_FILE)
    subjects: float = quantity(12, 4, 30, "", "Volunteers", 1, whole=True)
    spread: float = quantity(1.0, 0.0, 2.0, "times", "Spread of people and LEDs", 0.1)
    lowest_percent: float = quantity(70.0, 50.0, 90.0, "%", "Lowest plateau", 1.0)
    seed: float = quantity(1, 0, 99, "", "Another draw (seed)", 1, whole=True)
    form: str = choice("Form of the curve", "quadratic", "linear", "rational")
    method: str = choice("Fitted by", *METHODS)
    judged: str = choice("Readings judged", NEW_CURVE, METERS_OWN)
    uploaded: Any = field(default=None, metadata={"spec": _Uploaded()})

    def __post_init__(self) -> None:
        check_fields(self)
        if self.source == OWN_FILE and self.uploaded is None:
            raise ValueError(
                "source is 'my own file', but no file was read; choose a CSV file under “The pairs”"
            )
        column = "ratio" if self.judged == NEW_CURVE else "spo2_percent"
        if column not in self.pairs.table:
            raise ValueError(f"judged is {self.judged!r}, but the pairs have no column {column}")
        _ = self.result  # what cannot be reckoned is refused here

    @property
    def invented(self) -> bool:
        """Whether the volunteers are invented."""
        return self.source == INVENTED

    @cached_property
    def population(self) -> Population:
        """How far invented people differ."""
        usual = Population()
        return Population(**{name: self.spread * getattr(usual, name) for name in SPREADS})

    @cached_property
    def protocol(self) -> Protocol:
        """What is done with each invented volunteer."""
        return Protocol(tuple(np.linspace(100.0, self.lowest_percent, PLATEAUS).tolist()))

    @cached_property
    def pairs(self) -> StudyPairs:
        """The pairs. Invented ones come without groups: the model must not compare them."""
        if not self.invented:
            return self.uploaded  # type: ignore[no-any-return]
        seed = int(self.seed)
        people = draw_people(int(self.subjects), self.population, seed)
        table = desaturation_study(people, self.protocol, seed=seed)
        return read_pairs(table[["subject", "sao2_percent", "ratio", "spo2_percent"]])

    @cached_property
    def fitted_pairs(self) -> pd.DataFrame | None:
        """Pairs that have R; None when the file has no such column."""
        table = self.pairs.table
        if "ratio" not in table:
            return None
        return table.dropna(subset=["ratio"]).reset_index(drop=True)

    @cached_property
    def calibration(self) -> Calibration | None:
        """The curve fitted to all pairs, None without R."""
        if self.fitted_pairs is None:
            return None
        return calibrate(self.fitted_pairs, self.form, METHODS[self.method])

    @cached_property
    def judged_pairs(self) -> pd.DataFrame:
        """Pairs with the reading that is judged as spo2_percent; not clipped for the new curve."""
        if self.judged == METERS_OWN or self.calibration is None or self.fitted_pairs is None:
            return self.pairs.table.dropna(subset=["spo2_percent"]).reset_index(drop=True)
        ratio = self.fitted_pairs["ratio"].to_numpy()
        return self.fitted_pairs.assign(spo2_percent=np.asarray(self.calibration.curve(ratio)))

    @property
    def errors(self) -> FloatArray:
        """Reading less blood, of every pair judged [points]; shape (n,)."""
        table = self.judged_pairs
        return (table["spo2_percent"] - table["sao2_percent"]).to_numpy(dtype=np.float64)

    @cached_property
    def result(self) -> Accuracy:
        """Accuracy of the readings judged, blood from 70 to 100 %."""
        if self.judged == NEW_CURVE:
            return accuracy(self.judged_pairs, resamples=RESAMPLES)
        return accuracy(self.pairs, resamples=RESAMPLES)

    @cached_property
    def swings(self) -> pd.DataFrame:
        """How far each assumption moves a reading at 80 %; see `one_at_a_time`."""
        model = reading_model(SWING_AT_PERCENT, self.protocol)
        return one_at_a_time(model, assumptions(self.population))


@dataclass(frozen=True, eq=False)
class LeftOutSoFar:
    """Readings of subjects with curves fitted to all others.

    Attributes:
        subjects: How many were left out so far.
        a_rms_points: Root mean square of their errors, over all blood values [points].
        fitted_points: The same of the same pairs with the curve fitted to everybody [points].
    """

    subjects: int
    a_rms_points: float
    fitted_points: float


def leave_each_out(study: OwnStudy) -> Iterator[tuple[float, LeftOutSoFar]]:
    """Leave one subject after another out of the fit, and read that subject with it.

    Args:
        study: With pairs that have R.

    Yields:
        Share done, and the errors so far; the last is `leave_one_subject_out`.

    Raises:
        ValueError: The pairs have no R, or the others are too few to fit the form.
    """
    table = study.fitted_pairs
    if table is None or study.calibration is None:
        raise ValueError("the pairs have no column ratio; without R there is no curve to fit")
    names = list(dict.fromkeys(table["subject"]))
    new, fitted = np.zeros(0), np.zeros(0)
    for number, name in enumerate(names, 1):
        own = table["subject"] == name
        curve = calibrate(table[~own], study.form, METHODS[study.method]).curve
        new = np.append(new, _errors(curve, table[own]))
        fitted = np.append(fitted, _errors(study.calibration.curve, table[own]))
        yield number / len(names), LeftOutSoFar(number, _rms(new), _rms(fitted))


def with_file(study: OwnStudy, content: bytes) -> OwnStudy:
    """Return the study on the pairs of a file, judging what its columns allow.

    Raises:
        ValueError: As `read_pairs` and `OwnStudy` do.
    """
    pairs = read_pairs(content)
    judged = study.judged
    if "ratio" not in pairs.table:
        judged = METERS_OWN
    elif "spo2_percent" not in pairs.table:
        judged = NEW_CURVE
    return replace(study, uploaded=pairs, source=OWN_FILE, judged=judged)


def _errors(curve: Any, table: pd.DataFrame) -> FloatArray:
    return np.asarray(curve(table["ratio"].to_numpy()) - table["sao2_percent"].to_numpy())


def _rms(errors: FloatArray) -> float:
    return float(np.sqrt(np.mean(errors**2)))

"""Any shared state, shown in its own panel: what a line of Python calls."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import ipywidgets as widgets

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.panels.altitude import altitude
from oximetry_workbook.panels.below_seventy import below_seventy
from oximetry_workbook.panels.bench import bench
from oximetry_workbook.panels.blood import blood
from oximetry_workbook.panels.late_news import late_news
from oximetry_workbook.panels.moving_hand import moving_hand
from oximetry_workbook.panels.one_low_reading import one_low_reading
from oximetry_workbook.panels.other_blood import other_blood
from oximetry_workbook.panels.own_study import own_study
from oximetry_workbook.panels.oxygen_on_board import oxygen
from oximetry_workbook.panels.ratio_of_ratios import ratios
from oximetry_workbook.panels.ratio_to_number import calibration
from oximetry_workbook.panels.skin_tone import skin_tone
from oximetry_workbook.panels.steady_and_pulsing import layers
from oximetry_workbook.panels.weak_pulse import weak_pulse
from oximetry_workbook.panels.wrist import wrist
from oximetry_workbook.panels.wrong_light import wrong_light
from oximetry_workbook.teach.altitude import Ascent
from oximetry_workbook.teach.below_seventy import BelowSeventy
from oximetry_workbook.teach.bench_state import BenchState
from oximetry_workbook.teach.colours import BloodSamples
from oximetry_workbook.teach.curves_together import CurvesTogether
from oximetry_workbook.teach.late_news import LateNews
from oximetry_workbook.teach.moving_hand import MovingHand
from oximetry_workbook.teach.one_low_reading import OneLowReading
from oximetry_workbook.teach.other_blood import OtherBlood
from oximetry_workbook.teach.own_study import OwnStudy
from oximetry_workbook.teach.oxygen_on_board import OxygenOnBoard
from oximetry_workbook.teach.ratio_of_ratios import TwoLights
from oximetry_workbook.teach.ratio_to_number import CalibrationStudy
from oximetry_workbook.teach.skin_tone import SkinTone
from oximetry_workbook.teach.steady_and_pulsing import SteadyAndPulsing
from oximetry_workbook.teach.weak_pulse import WeakPulse
from oximetry_workbook.teach.wrist import FingerAndWrist
from oximetry_workbook.teach.wrong_light import LedLight, PastTheTissue, RoomLight

PANELS: dict[type, Callable[[Any], widgets.VBox]] = {
    Scenario: bench,
    BenchState: bench,
    OxygenOnBoard: oxygen,
    Ascent: altitude,
    BloodSamples: blood,
    SteadyAndPulsing: layers,
    TwoLights: ratios,
    CurvesTogether: calibration,
    CalibrationStudy: calibration,
    WeakPulse: weak_pulse,
    MovingHand: moving_hand,
    RoomLight: wrong_light,
    PastTheTissue: wrong_light,
    LedLight: wrong_light,
    SkinTone: skin_tone,
    OtherBlood: other_blood,
    LateNews: late_news,
    BelowSeventy: below_seventy,
    FingerAndWrist: wrist,
    OneLowReading: one_low_reading,
    OwnStudy: own_study,
}
"""What shows a state, by the state's class."""


def show(state: Any) -> widgets.VBox:
    """Show a state in the panel that it belongs to.

    Raises:
        ValueError: For something that is no panel's state.
    """
    if type(state) not in PANELS:
        names = ", ".join(kind.__name__ for kind in PANELS)
        raise ValueError(f"{type(state).__name__} is no state of a panel; these are: {names}")
    return PANELS[type(state)](state)

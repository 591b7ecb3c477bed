"""Pulse oximetry to teach with: from two colours of light to a number, and when to doubt it.

A teaching tool; not for diagnosis or patient care.
"""

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.curve import Curve
from oximetry_workbook.meter.measure import Measurement, measure
from oximetry_workbook.meter.recording import Recording

__version__ = "0.1.0"

__all__ = ["Curve", "Measurement", "Recording", "Scenario", "measure", "simulate"]

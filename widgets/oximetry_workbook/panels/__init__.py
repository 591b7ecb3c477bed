"""What is seen: widgets and plots, drawn from results that the layers below reckon."""

from oximetry_workbook.panels.altitude import altitude
from oximetry_workbook.panels.below_seventy import below_seventy
from oximetry_workbook.panels.bench import bench
from oximetry_workbook.panels.blood import blood
from oximetry_workbook.panels.causes import doubts
from oximetry_workbook.panels.chapters import chapters, paths
from oximetry_workbook.panels.glossary import words
from oximetry_workbook.panels.late_news import late_news
from oximetry_workbook.panels.lesson import lesson
from oximetry_workbook.panels.moving_hand import moving_hand
from oximetry_workbook.panels.one_low_reading import one_low_reading
from oximetry_workbook.panels.other_blood import other_blood
from oximetry_workbook.panels.own_recording import own_recording
from oximetry_workbook.panels.own_study import own_study
from oximetry_workbook.panels.oxygen_on_board import oxygen
from oximetry_workbook.panels.questions import checkpoints, predict
from oximetry_workbook.panels.ratio_of_ratios import ratios
from oximetry_workbook.panels.ratio_to_number import calibration
from oximetry_workbook.panels.show import show
from oximetry_workbook.panels.skin_tone import skin_tone
from oximetry_workbook.panels.steady_and_pulsing import layers
from oximetry_workbook.panels.weak_pulse import weak_pulse
from oximetry_workbook.panels.wrist import wrist
from oximetry_workbook.panels.wrong_light import wrong_light

__all__ = [
    "altitude",
    "below_seventy",
    "bench",
    "blood",
    "calibration",
    "chapters",
    "checkpoints",
    "doubts",
    "late_news",
    "layers",
    "lesson",
    "moving_hand",
    "one_low_reading",
    "other_blood",
    "own_recording",
    "own_study",
    "oxygen",
    "paths",
    "predict",
    "ratios",
    "show",
    "skin_tone",
    "weak_pulse",
    "words",
    "wrist",
    "wrong_light",
]

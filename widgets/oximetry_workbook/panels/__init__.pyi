from .altitude import altitude
from .below_seventy import below_seventy
from .bench import bench
from .blood import blood
from .causes import doubts
from .chapters import chapters, paths
from .glossary import words
from .late_news import late_news
from .lesson import lesson
from .moving_hand import moving_hand
from .one_low_reading import one_low_reading
from .other_blood import other_blood
from .own_recording import own_recording
from .own_study import own_study
from .oxygen_on_board import oxygen
from .questions import checkpoints, predict
from .ratio_of_ratios import ratios
from .ratio_to_number import calibration
from .show import show
from .skin_tone import skin_tone
from .steady_and_pulsing import layers
from .weak_pulse import weak_pulse
from .wrist import wrist
from .wrong_light import wrong_light

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

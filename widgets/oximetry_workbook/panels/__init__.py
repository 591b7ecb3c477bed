"""What is seen: widgets and plots, drawn from results that the layers below reckon."""

from oximetry_workbook.panels.bench import bench
from oximetry_workbook.panels.blood import blood
from oximetry_workbook.panels.chapters import chapters
from oximetry_workbook.panels.questions import checkpoints, predict

__all__ = ["bench", "blood", "chapters", "checkpoints", "predict"]

"""What is seen: widgets and plots, drawn from results that the layers below reckon."""

from oximetry_workbook.panels.bench import bench

__all__ = ["bench"]

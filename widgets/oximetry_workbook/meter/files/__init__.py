"""Recordings in files: reading, looking before reading, and writing."""

from oximetry_workbook.meter.files.opening import open_content, open_path, open_stored
from oximetry_workbook.meter.files.preview import Choices, Opened, Preview
from oximetry_workbook.meter.files.source import UnreadableRecordingError
from oximetry_workbook.meter.files.write import recording_to_csv

__all__ = [
    "Choices",
    "Opened",
    "Preview",
    "UnreadableRecordingError",
    "open_content",
    "open_path",
    "open_stored",
    "recording_to_csv",
]

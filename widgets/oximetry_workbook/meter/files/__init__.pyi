from .opening import open_content, open_path, open_stored
from .preview import Choices, Opened, Preview
from .source import UnreadableRecordingError
from .write import recording_to_csv

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

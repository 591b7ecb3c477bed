"""What opening and naming small files of our own have in common."""

from __future__ import annotations

import re

LONGEST_STEM = 60
"""Most characters of a file's name without its ending, so that it can be kept anywhere."""


def text_of(content: bytes, what: str) -> str:
    """Return the text of a file in UTF-8, without a byte order mark.

    Args:
        content: What the file holds.
        what: Names the file in the message.

    Raises:
        ValueError: It is not UTF-8.
    """
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise ValueError(f"{what} is not text") from None


def file_stem(title: str, otherwise: str) -> str:
    """Return letters, digits and dashes of a title, to name a file or folder anywhere.

    Args:
        title: What the file is about.
        otherwise: The name when the title has no ASCII letter or digit.
    """
    words = re.sub(r"[^\w]+", "-", title.lower(), flags=re.ASCII)
    return words.strip("-")[:LONGEST_STEM] or otherwise

"""What the HTML of a card says, as plain text and entries of a key."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser

_KIND, _COLOUR = "ow-key-", "--ow-mark:"


@dataclass(frozen=True)
class Said:
    """What a piece of HTML says.

    Attributes:
        key: Entries of the key in it, as `look.key` takes them.
        text: All other text, blanks in a row made one; no-break spaces stay.
    """

    key: tuple[tuple[str, str, str], ...]
    text: str


def said(html: str) -> Said:
    """Read a piece of HTML that this package has written."""
    reader = _Reader()
    reader.feed(html)
    reader.close()
    key = tuple((colour, kind, _tidy(words)) for colour, kind, words in reader.key)
    return Said(key, _tidy("".join(reader.text)))


def _tidy(text: str) -> str:
    return " ".join(part for part in text.replace("\n", " ").split(" ") if part)


@dataclass
class _Reader(HTMLParser):
    """Sorts the text of a piece of HTML into key and others, on its way through."""

    key: list[list[str]] = field(default_factory=list)
    text: list[str] = field(default_factory=list)
    in_key: bool = False

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = {name: value or "" for name, value in attrs}
        names = found.get("class", "").split()
        self.in_key = self.in_key or (tag == "span" and "ow-key" in names)
        if tag == "i" and self.in_key and names:
            kind = names[0].removeprefix(_KIND)
            self.key.append([found.get("style", "").removeprefix(_COLOUR), kind, ""])
        elif tag in ("br", "p", "div", "small"):
            self.text.append(" ")

    def handle_endtag(self, tag: str) -> None:
        self.in_key = self.in_key and tag != "span"

    def handle_data(self, data: str) -> None:
        if self.in_key and self.key:
            self.key[-1][2] += data
        else:
            self.text.append(data)

"""Tables of words that become lists on a narrow page."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from oximetry_workbook.panels.prose import html


def table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Write a table as HTML; the first cell of a row is its heading.

    Args:
        heads: Words over the columns.
        rows: Cells as HTML, as many in each row as there are heads.
    """
    head = "".join(f'<th scope="col">{html(words)}</th>' for words in heads)
    body = "".join(_row(heads, cells) for cells in rows)
    return f'<table class="ow-doubts"><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>'


def _row(heads: Sequence[str], cells: Sequence[str]) -> str:
    first, *rest = cells
    told = "".join(
        f'<td data-ow-head="{html(head)}">{cell}</td>'
        for head, cell in zip(heads[1:], rest, strict=True)
    )
    return f'<tr><th scope="row">{first}</th>{told}</tr>'

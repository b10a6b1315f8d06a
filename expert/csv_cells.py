"""Cells of a CSV file that no spreadsheet takes for a formula."""

from __future__ import annotations

_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")


def safe(cell: object) -> object:
    """The cell; a text that a spreadsheet would work out is marked as text by an apostrophe.

    A number that is typed as text stays as it is.
    """
    if not isinstance(cell, str) or not cell.lstrip(" ").startswith(_STARTS):
        return cell
    try:
        float(cell)
    except ValueError:
        return f"'{cell}"
    return cell

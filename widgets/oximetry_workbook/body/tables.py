"""The measured tables in data/: loading them, looking a wavelength up, and the check of a range."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import overload

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


@cache
def load_table(name: str) -> tuple[FloatArray, ...]:
    """Read one table of measured values.

    The head of each file says what it holds, in which units, and who measured it.

    Args:
        name: Name of the table, such as "water", that is the file data/water.csv.

    Returns:
        The columns of the table from left to right, read-only, each of shape (rows,);
        the first one is the wavelength [nm], increasing.

    Raises:
        ValueError: There is no such table.
    """
    folder = files(__package__) / "data"
    known = sorted(entry.name[:-4] for entry in folder.iterdir() if entry.name.endswith(".csv"))
    if name not in known:
        raise ValueError(f"name is {name!r}; choose one of the tables {', '.join(known)}")
    lines = (folder / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    rows = [line for line in lines if not line.startswith("#")][1:]
    table = np.array([row.split(",") for row in rows], dtype=np.float64).T.copy()
    table.flags.writeable = False  # the columns are shared by all who ask
    return tuple(table)


@overload
def look_up(name: str, column: int, wavelength_nm: float) -> float: ...
@overload
def look_up(name: str, column: int, wavelength_nm: FloatArray) -> FloatArray: ...
def look_up(name: str, column: int, wavelength_nm: float | FloatArray) -> float | FloatArray:
    """Interpolate a column of a table linearly in wavelength.

    Args:
        name: Name of the table, as in `load_table`.
        column: Number of the column; 0 is the wavelength itself.
        wavelength_nm: Wavelength [nm], a number or an array of any shape.

    Returns:
        The value in the table's own unit: a float for a number, else an array of the same shape.

    Raises:
        ValueError: There is no such table, or a wavelength lies outside it.
    """
    columns = load_table(name)
    wavelengths = columns[0]
    require_within("wavelength_nm", wavelength_nm, wavelengths[0], wavelengths[-1], "nm")
    values = np.interp(wavelength_nm, wavelengths, columns[column])
    return values if np.ndim(wavelength_nm) else float(values)


def require_within(
    name: str, values: float | FloatArray, low: float, high: float, unit: str = ""
) -> None:
    """Refuse numbers outside a range.

    Args:
        name: Name of the quantity, for the message.
        values: A number or an array.
        low: Smallest value allowed.
        high: Largest value allowed.
        unit: Unit of the quantity, for the message.

    Raises:
        ValueError: A value lies outside the range or is no number.
    """
    if isinstance(values, float) and low <= values <= high:
        return  # the common case, and much faster than by way of an array
    try:
        array = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        raise ValueError(f"{name} is {values!r}; give a number or an array of numbers") from None
    if array.size and not (array.min() >= low and array.max() <= high):
        outside = array[~((array >= low) & (array <= high))].flat[0]
        raise ValueError(
            f"{name} is {outside:g} {unit}".rstrip()
            + f"; choose a value from {low:g} to {high:g} {unit}".rstrip()
        )

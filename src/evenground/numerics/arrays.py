"""Names for the arrays of this package, and the checks every door makes."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]


def finite(values: npt.ArrayLike, name: str, ndim: int) -> FloatArray:
    """Return the values as a float array of the wanted number of dimensions, or say what is wrong with them.

    Parameters
    ----------
    values : array_like
        Numbers, any unit, any shape.
    name : str
        What to call them in the message.
    ndim : int
        Wanted number of dimensions.

    Returns
    -------
    ndarray of float

    Raises
    ------
    ValueError
        If the number of dimensions is wrong, there are no values, or one is not finite.
    """
    array = np.asarray(values, dtype=np.float64)
    if array.ndim != ndim:
        raise ValueError(f"{name}: {ndim} dimension(s) expected, {array.ndim} given")
    if array.size == 0:
        raise ValueError(f"{name}: no values given")
    if not np.isfinite(array).all():
        raise ValueError(f"{name}: every value must be a finite number")
    return array


def level_codes(codes: npt.ArrayLike, name: str, rows: int) -> tuple[IntArray, int]:
    """Return level codes renumbered 0, 1, 2, ... without gaps, and how many levels there are.

    Parameters
    ----------
    codes : array_like of int, shape (rows,)
        One level per row; any integers.
    name : str
        What to call them in the message.
    rows : int
        How many rows there must be.

    Returns
    -------
    tuple of (ndarray of int, int)

    Raises
    ------
    ValueError
        If the length is wrong or the codes are not integers.
    """
    array = np.asarray(codes)
    if array.shape != (rows,):
        raise ValueError(f"{name}: {rows} codes expected, shape {array.shape} given")
    if not np.issubdtype(array.dtype, np.integer):
        raise ValueError(f"{name}: level codes must be integers")
    levels, renumbered = np.unique(array, return_inverse=True)
    return renumbered.astype(np.int64), len(levels)


def cross(*codes: npt.ArrayLike) -> IntArray:
    """Return one code per combination of levels that occurs, for a factor crossed with or nested in others.

    Parameters
    ----------
    *codes : array_like of int, shape (rows,)
        Two or more level codes of the same rows.

    Returns
    -------
    ndarray of int, shape (rows,)

    Raises
    ------
    ValueError
        If the arrays differ in length.

    Examples
    --------
    >>> cross([0, 0, 1, 1], [0, 1, 0, 0]).tolist()
    [0, 1, 2, 2]
    """
    table = [np.asarray(code) for code in codes]
    if len({array.shape for array in table}) != 1:
        raise ValueError("level codes to be crossed must have the same length")
    _, renumbered = np.unique(np.column_stack(table), axis=0, return_inverse=True)
    return renumbered.reshape(-1).astype(np.int64)


def indicator(codes: IntArray, levels: int) -> FloatArray:
    """Return the 0/1 matrix of a factor.

    Parameters
    ----------
    codes : ndarray of int, shape (rows,)
        Level of each row, 0 to levels - 1.
    levels : int
        Number of levels.

    Returns
    -------
    ndarray, shape (rows, levels)
    """
    matrix = np.zeros((len(codes), levels))
    matrix[np.arange(len(codes)), codes] = 1.0
    return matrix

"""Geometry of a wheel on its hub: offset, backspace, rim flange, spacer, and the room that they leave."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from combo.formulas import Column

BOLT_CIRCLE_AGREEMENT_MM = 0.15  # 8x6.5 in is 165.1 mm and is listed as 8x165; 120 and 120.65 mm stay two circles
DEFAULT_FLANGE_MM = 12.7  # common practice, no source: a 9 in rim measures about 10 in over the flanges


def same_circle(lugs: Column, mm: Column, other_lugs: Column, other_mm: Column) -> NDArray[np.bool_]:
    """Whether two bolt circles go together: as many lugs, on diameters within 0.15 mm.

    Examples
    --------
    >>> bool(same_circle(8.0, 165.1, 8.0, 165.0)), bool(same_circle(5.0, 120.0, 5.0, 120.65))
    (True, False)
    """
    near = np.round(np.abs(np.asarray(mm) - other_mm), 3) <= BOLT_CIRCLE_AGREEMENT_MM
    return np.asarray((np.asarray(lugs) == other_lugs) & near, dtype=bool)


def overall_width_mm(rim_width_mm: Column, flange_mm: Column = DEFAULT_FLANGE_MM) -> Column:
    """Width over both rim flanges, W_o = W + 2 f [mm]; W is between the bead seats."""
    return rim_width_mm + 2.0 * flange_mm


def offset_from_backspace_mm(
    backspace_mm: Column, rim_width_mm: Column, flange_mm: Column = DEFAULT_FLANGE_MM, *, basis: str = "flange"
) -> Column:
    """Offset of a wheel from its backspace.

    Parameters
    ----------
    backspace_mm : float or ndarray, shape (n,)
        BS, mounting face to the outer edge of the inboard rim flange [mm], positive inboard.
    rim_width_mm : float or ndarray, shape (n,)
        W, between the bead seats [mm].
    flange_mm : float or ndarray, shape (n,), default 12.7
        f, thickness of one rim flange [mm]. The shorthand ignores it.
    basis : {"flange", "shorthand"}
        Whether the backspace was measured to the flange's edge or is counted from the rim width alone.

    Returns
    -------
    float or ndarray, shape (n,)
        ET [mm], positive when the mounting face is outboard of the centerline. NaN where an input is NaN.

    Raises
    ------
    ValueError
        If `basis` is neither word. Sizes are not judged here: reading has refused impossible ones.

    Notes
    -----
    ET = BS - (W + 2 f) / 2 (plane geometry); the shorthand ET = BS - W / 2 (common practice) is larger by f.

    Examples
    --------
    >>> round(offset_from_backspace_mm(133.35, 228.6), 2)  # 9 in rim, 5 1/4 in backspace: 1/4 in
    6.35
    >>> round(offset_from_backspace_mm(133.35, 228.6, basis="shorthand"), 2)  # 3/4 in
    19.05
    """
    return backspace_mm - _half_width_mm(rim_width_mm, flange_mm, basis)


def backspace_from_offset_mm(
    offset_mm: Column, rim_width_mm: Column, flange_mm: Column = DEFAULT_FLANGE_MM, *, basis: str = "flange"
) -> Column:
    """Backspace of a wheel from its offset: the inverse of `offset_from_backspace_mm`.

    Returns
    -------
    float or ndarray, shape (n,)
        BS [mm], positive inboard: to the flange's edge, or with `basis="shorthand"` as the shop counts it.

    Raises
    ------
    ValueError
        If `basis` is neither "flange" nor "shorthand".

    Examples
    --------
    >>> round(backspace_from_offset_mm(6.35, 228.6), 2)
    133.35
    """
    return offset_mm + _half_width_mm(rim_width_mm, flange_mm, basis)


def offset_on_spacer_mm(offset_mm: Column, spacer_mm: Column) -> Column:
    """Offset that remains over a spacer: ET_eff = ET - t [mm]."""
    return offset_mm - spacer_mm


def reach_inward_mm(offset_mm: Column, section_width_mm: Column) -> Column:
    """How far the tire's inner sidewall stands inboard of the mounting face: ET + S / 2 [mm]."""
    return offset_mm + section_width_mm / 2.0


def reach_outward_mm(offset_mm: Column, section_width_mm: Column) -> Column:
    """How far the tire's outer sidewall stands outboard of the mounting face: S / 2 - ET [mm]."""
    return section_width_mm / 2.0 - offset_mm


def _half_width_mm(rim_width_mm: Column, flange_mm: Column, basis: str) -> Column:
    if basis == "flange":
        return overall_width_mm(rim_width_mm, flange_mm) / 2.0
    if basis == "shorthand":
        return rim_width_mm / 2.0
    raise ValueError(f'backspace basis "{basis}" is neither "flange" nor "shorthand"')

"""How far the end of bent tube that stands on one foot moves: every section of it bends and twists.

The unit load theorem for a cantilever in space: with M the moment in a section under the real load and m under a unit
force at the end, the end moves by

    integral of (M_bending · m_bending / EI + M_torsion m_torsion / GJ) ds,    GJ = EI / (1 + nu)

S. Timoshenko, Strength of Materials, part I, chapter 11 (from memory).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lampwright.layout.member import directions_along, points_along
from lampwright.piece.model import Member
from lampwright.piece.path import path_length

Reals = NDArray[np.float64]

LATERAL = 0.3
"""Poisson's ratio of steel; aluminium has 0.33, 2 % more twist (from memory). [1]"""

_PIECES = 200


def end_ways(member: Member, rigidity: float, wind: Reals, places: Reals, forces: Reals) -> tuple[Reals, Reals]:
    """Return how far the end moves under wind on all of the tube, and under each pull alone.

    Parameters
    ----------
    rigidity
        ``EI`` of the tube. [N m2]
    wind : (n_direction, 3) float64
        On each length of tube. [N/m]
    places : (n_pull, 3) float64
        Where pulls act; each on the tube nearest to it. [m]
    forces : (n_pull, n_direction, 3) float64
        [N]

    Returns
    -------
    (n_direction, 3) float64 and (n_pull, n_direction, 3) float64
        The foot held fast. [m]
    """
    step = path_length(member.shape) / _PIECES
    middles = np.asarray((np.arange(_PIECES) + 0.5) * step, dtype=np.float64)
    axis, along = points_along(member, middles), directions_along(member, middles)
    end = points_along(member, np.array([path_length(member.shape)]))[0]
    # What a unit force along x, y and z at the end brings on each section, bending and twist apart.
    of_end = np.cross((end - axis)[None], np.eye(3)[:, None, :])
    twist = (of_end * along).sum(axis=-1, keepdims=True) * along
    soft = (of_end - twist + (1 + LATERAL) * twist) * (step / rigidity)  # (3, n_piece, 3)

    # Wind beyond a section: its length and the middle of what lies there.
    beyond = (_PIECES - np.arange(_PIECES) - 0.5) * step
    sums = np.cumsum(axis[::-1], axis=0)[::-1] - axis / 2
    arm = sums * step - beyond[:, None] * axis
    blown = np.cross(arm[None], wind[:, None, :])
    pulled = np.empty((len(places), len(wind), 3))
    for index, place in enumerate(places):
        last = int(np.argmin(np.linalg.norm(axis - place, axis=1)))
        moment = np.cross((place - axis[: last + 1])[None], forces[index][:, None, :])
        pulled[index] = np.einsum("dsk,isk->di", moment, soft[:, : last + 1])
    return np.einsum("dsk,isk->di", blown, soft), pulled

r"""A lens that bends straight lines, and pixels straightened.

Brown's model: with (u, v) the place beside the middle of the picture in focal lengths and
:math:`\rho^2 = u^2 + v^2`, the lens shows a point at :math:`(u, v)(1 + k_1\rho^2 + k_2\rho^4)`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result

FloatArray = NDArray[np.float64]

_ROUNDS = 30


@dataclass(frozen=True, slots=True)
class Lens(Result):
    """One phone's lens, at one zoom and size of frame.

    Parameters
    ----------
    width, height : int
        Of the frames that it was measured on. [px]
    focal : float
        [px]
    middle_x, middle_y : float
        Where its axis meets the picture. [px]
    k1, k2 : float
        Radial coefficients. [-]
    error_px : float
        Root mean square of what it leaves at the board's corners.

    References
    ----------
    D. C. Brown, Close-range camera calibration, Photogrammetric Engineering 37, 855 (1971), from memory.
    """

    width: int
    height: int
    focal: float
    middle_x: float
    middle_y: float
    k1: float
    k2: float
    error_px: float = 0.0

    def bent(self, pixels: FloatArray) -> FloatArray:
        """Where the lens shows (k, 2) pixels of a perfect one."""
        u = (np.atleast_2d(pixels) - self._middle) / self.focal
        return np.asarray(u * self._stretch(u) * self.focal + self._middle)

    def straight(self, pixels: FloatArray) -> FloatArray:
        """Where a perfect lens would show what this one shows at (k, 2) pixels.

        Raises
        ------
        BadInput
            So far out that the model has no point there.
        """
        seen = (np.atleast_2d(pixels) - self._middle) / self.focal
        u = seen.copy()
        for _ in range(_ROUNDS):
            u = seen / self._stretch(u)
        if not np.allclose(u * self._stretch(u), seen, atol=1e-6):
            problem = "the lens can't be straightened so far out; film the board in the corners too"
            raise BadInput(problem, field="lens")
        return np.asarray(u * self.focal + self._middle)

    @property
    def _middle(self) -> FloatArray:
        return np.array([self.middle_x, self.middle_y])

    def _stretch(self, u: FloatArray) -> FloatArray:
        square = np.sum(u * u, axis=1, keepdims=True)
        return np.asarray(1.0 + self.k1 * square + self.k2 * square * square)


def fitting(lens: Lens, width: int, height: int) -> Lens:
    """Return the lens for frames of another size of the same shape.

    Parameters
    ----------
    lens : Lens
        As measured.
    width, height : int
        Of the frames to straighten. [px]

    Returns
    -------
    Lens
        For them.

    Raises
    ------
    BadInput
        The shape differs: the phone crops differently there.
    """
    ratio = width / lens.width
    if abs(lens.height * ratio - height) > 1.5:
        raise BadInput(
            f"the board was filmed with {lens.width} x {lens.height} pixels, the shot with "
            f"{width} x {height}; film both with the same setting",
            field="lens",
        )
    half = 0.5 * (ratio - 1.0)  # pixels are counted from the middle of the first one
    return Lens(
        width, height, ratio * lens.focal, ratio * lens.middle_x + half, ratio * lens.middle_y + half,
        lens.k1, lens.k2, ratio * lens.error_px,
    )  # fmt: skip

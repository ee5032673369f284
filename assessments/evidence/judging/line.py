"""A straight line by least squares, and how surely it is known at one place."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from scipy import stats

from assessments.evidence.scores import Array


@dataclass(frozen=True, slots=True)
class Line:
    """y = intercept + slope x, fitted to n points; units as those of x and y."""

    intercept: float
    slope: float
    slope_error: float
    r_squared: float
    residual_sd: float
    n: int
    mean_x: float
    squares_x: float

    @property
    def freedom(self) -> int:
        """Degrees of freedom left over."""
        return self.n - 2

    @property
    def exact(self) -> bool:
        """Whether every point lies on the line, rounding aside."""
        return self.r_squared > 1 - 1e-12

    def at(self, x: float) -> tuple[float, float]:
        """The fitted mean at x and its standard error, s sqrt(1/n + (x - mean)^2 / Sxx)."""
        error = self.residual_sd * sqrt(1 / self.n + (x - self.mean_x) ** 2 / self.squares_x)
        return self.intercept + self.slope * x, error


def fitted(x: Array, y: Array) -> Line:
    """The least-squares line through at least three points, of which neither x nor y is constant.

    scipy.stats.linregress; the standard error of the mean as in Draper & Smith, Applied
    Regression Analysis, 3rd ed. 1998, section 3.1.

    >>> import numpy as np
    >>> found = fitted(np.array([1.0, 2, 3, 4]), np.array([2.0, 4, 5, 8]))
    >>> round(found.slope, 3), [round(one, 3) for one in found.at(2.5)]
    (1.9, [4.75, 0.296])
    """
    found = stats.linregress(x, y)
    slope, intercept = float(found.slope), float(found.intercept)
    rest = y - intercept - slope * x
    return Line(
        intercept,
        slope,
        float(found.stderr),
        float(found.rvalue) ** 2,
        sqrt(float((rest**2).sum()) / (len(x) - 2)),
        len(x),
        float(x.mean()),
        float(((x - x.mean()) ** 2).sum()),
    )

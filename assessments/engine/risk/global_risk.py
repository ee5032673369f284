"""The global risks of a decision rule, for pieces of a process whose spread is known.

JCGM 106:2012, 9.5: before a piece is measured, its true value y is taken as normal about the
``nominal`` with the standard deviation ``process_u``; a reading of it is normal about y with the
standard uncertainty ``measurement_u``. The consumer's risk is the probability that a piece lies
outside the tolerance limits and is accepted, the producer's risk that it lies within and is
rejected. Both are shares of all pieces, not of those accepted or rejected:

    consumer's risk = ∫ outside  g(y) · P(reading within the acceptance limits | y) dy
    producer's risk = ∫ within   g(y) · P(reading beyond the acceptance limits | y) dy

For choosing a guard band when the spread of the work is known from many pieces. For one piece
nothing is known of, see ``on_limit``. All in one unit, any; limits are (lower, upper), None
where there is none. Figures for reports: they decide nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from itertools import pairwise
from math import exp, inf, isfinite, sqrt, tau

from scipy.integrate import quad
from scipy.special import ndtr

from assessments.engine.errors import EngineError

Ends = tuple[float | None, float | None]
# Beyond so many standard deviations lies less than 1e-18 of a normal distribution.
_REACH = 9.0


def consumer_risk(
    tolerance: Ends,
    acceptance: Ends,
    *,
    nominal: float,
    process_u: float,
    measurement_u: float,
) -> float:
    """The probability that a piece lies outside the tolerance limits and is accepted.

    Raises EngineError whose path names what makes no sense: ``lower``, ``acceptance_upper``, ….

    >>> within = {"nominal": 1500, "process_u": 0.12, "measurement_u": 0.04}
    >>> round(consumer_risk((1499.8, 1500.2), (1499.82, 1500.18), **within), 5)
    0.00988
    """
    piece = _Piece(tolerance, acceptance, nominal, process_u, measurement_u)
    outside = [(-inf, piece.tolerance[0]), (piece.tolerance[1], inf)]
    return sum(piece.share(start, end, piece.accepted) for start, end in outside)


def producer_risk(
    tolerance: Ends,
    acceptance: Ends,
    *,
    nominal: float,
    process_u: float,
    measurement_u: float,
) -> float:
    """The probability that a piece lies within the tolerance limits and is rejected.

    Raises EngineError as ``consumer_risk`` does.

    >>> within = {"nominal": 1500, "process_u": 0.12, "measurement_u": 0.04}
    >>> round(producer_risk((1499.8, 1500.2), (1499.82, 1500.18), **within), 5)
    0.06903
    """
    piece = _Piece(tolerance, acceptance, nominal, process_u, measurement_u)
    return piece.share(*piece.tolerance, piece.rejected)


class _Piece:
    """A piece of the process and a reading of it, as deviations from the nominal."""

    def __init__(
        self,
        tolerance: Ends,
        acceptance: Ends,
        nominal: float,
        process_u: float,
        measurement_u: float,
    ) -> None:
        if not isfinite(nominal):
            raise EngineError("nominal", "Write a number.")
        for name, value in (("process_u", process_u), ("measurement_u", measurement_u)):
            if not (isfinite(value) and value > 0):
                raise EngineError(name, "Write a number above 0.")
        self.tolerance = _checked("", tolerance, nominal)
        for side, given, wanted in zip(("lower", "upper"), acceptance, tolerance, strict=True):
            if (given is None) != (wanted is None):
                raise EngineError(
                    f"acceptance_{side}",
                    f"Write both a tolerance and an acceptance limit for the {side} end, or "
                    "neither. For simple acceptance they are the same number.",
                )
        self.acceptance = _checked("acceptance_", acceptance, nominal)
        self.process_u = process_u
        self.measurement_u = measurement_u

    def accepted(self, y: float) -> float:
        """The probability that a piece of the true deviation ``y`` is accepted."""
        lower, upper = ((limit - y) / self.measurement_u for limit in self.acceptance)
        return float(ndtr(upper) - ndtr(lower))

    def rejected(self, y: float) -> float:
        """The probability that a piece of the true deviation ``y`` is rejected."""
        lower, upper = ((limit - y) / self.measurement_u for limit in self.acceptance)
        return float(ndtr(lower) + ndtr(-upper))

    def share(self, start: float, end: float, chance: Callable[[float], float]) -> float:
        """``chance`` over the pieces from ``start`` to ``end``, weighted with their frequency."""
        reach = _REACH * self.process_u
        start, end = max(start, -reach), min(end, reach)

        def weighted(y: float) -> float:
            z = y / self.process_u
            return exp(-z * z / 2) / (sqrt(tau) * self.process_u) * chance(y)

        if start >= end:
            return 0.0
        cuts = [start, *(cut for cut in self._cuts() if start < cut < end), end]
        return sum(float(quad(weighted, *ends, epsabs=1e-13)[0]) for ends in pairwise(cuts))

    def _cuts(self) -> Iterable[float]:
        """Where the curve turns: without them a steep turn falls between two samples."""
        width = _REACH * self.measurement_u
        ends = [limit for limit in self.acceptance if isfinite(limit)]
        return sorted({0.0, *ends, *(end - width for end in ends), *(end + width for end in ends)})


def _checked(prefix: str, ends: Ends, nominal: float) -> tuple[float, float]:
    """The limits as deviations; EngineError for none, for no numbers, or for the wrong order."""
    lower, upper = ends
    if lower is None and upper is None:
        raise EngineError(f"{prefix}lower", "Write a lower limit, an upper limit, or both.")
    for side, end in zip(("lower", "upper"), ends, strict=True):
        if end is not None and not isfinite(end):
            raise EngineError(f"{prefix}{side}", "Write a number, or None for no limit.")
    if lower is not None and upper is not None and lower >= upper:
        raise EngineError(
            f"{prefix}lower", f"Write a lower limit below the upper: {lower:g} is not below it."
        )
    return (
        -inf if lower is None else lower - nominal,
        inf if upper is None else upper - nominal,
    )

"""The specific risk of a measured criterion: how often a value exactly on its limit is accepted.

JCGM 106:2012, 9.3. The uncertainty is that of ``uncertainty.py``, taken as normal. Beyond the
limit the risk only falls, so this is the most that a value outside can have.
"""

from __future__ import annotations

from math import sqrt

from assessments.engine.kinds import Measured
from assessments.engine.numbers import to_fraction
from assessments.engine.uncertainty import conforming_probability

_PIECES = 1000


def accepted_on_limit(rule: Measured) -> float | None:
    """The probability that a true value exactly on a limit is accepted; None without instrument.

    With one limit and a guard band of r·U, U = k·u, it is Φ(-r·k); under simple acceptance 1/2.
    With two limits the other one also counts. It is 0 where the guard bands leave nothing.
    """
    if rule.variance is None:
        return None
    band = sqrt(rule.guard_band_square or 0)
    lower, upper = rule.limits.lower, rule.limits.upper
    width = None
    if lower is not None and upper is not None:
        # A zone has a mirror image, so the upper limit stands for both.
        width = band - float(to_fraction(upper) - to_fraction(lower))
    return max(0.0, conforming_probability(0.0, width, -band, rule.deviation))


def on_limit_sentence(rule: Measured) -> str | None:
    """``accepted_on_limit`` for those who set or read a standard; None without an instrument."""
    probability = accepted_on_limit(rule)
    if probability is None:
        return None
    if probability == 0:
        return "Risk: the guard bands leave no room within the limits, so nothing is accepted."
    times = round(probability * _PIECES)
    about = f"about {times} of" if times else "fewer than 1 of"
    return (
        f"Risk: {about} {_PIECES:,} pieces exactly on a limit would be accepted, and fewer of "
        "those beyond it."
    )

"""One assessor's scores of reference pieces against the scores agreed on beforehand."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import isfinite

import numpy as np
from scipy.stats import t as student

from assessments.evidence.agreement.proportions import proportion
from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import Figure, NotComputed, Result, Section, Table

SAME = 1e-9
NOTHING = (
    "No reference piece has been scored by this assessor yet: "
    "finish one, and its scores are compared with the agreed ones."
)


@dataclass(frozen=True, slots=True)
class CalibrationRow:
    """One criterion of one reference piece in one sitting: the agreed score and the given one.

    ``agreed`` and ``given`` are shares from 0 to 1 among ``steps``, the shares that the criterion
    can have, rising: (0, 1) for met or not, one a level for a rated criterion. ``when`` is how
    the sitting's day is shown; rows come in the order of the sittings. EvidenceError otherwise.
    """

    sitting: str
    when: str
    piece: str
    criterion: str
    title: str
    agreed: float
    given: float
    steps: tuple[float, ...]

    def __post_init__(self) -> None:
        whole = all(isfinite(step) and 0 <= step <= 1 for step in self.steps)
        rising = all(a < b for a, b in zip(self.steps, self.steps[1:], strict=False))
        if len(self.steps) < 2 or not whole or not rising:
            raise EvidenceError("steps", "At least two shares from 0 to 1 are needed, rising.")
        for name in ("agreed", "given"):
            share = getattr(self, name)
            if not any(abs(step - share) <= SAME for step in self.steps):
                raise EvidenceError(name, f"{share} is none of the criterion's shares.")

    @property
    def apart(self) -> int:
        """How many steps the given score is above (below: negative) the agreed one."""
        given, agreed = (
            int(np.argmin([abs(step - share) for step in self.steps]))
            for share in (self.given, self.agreed)
        )
        return given - agreed


@dataclass(frozen=True, slots=True)
class Calibration:
    """How an assessor compares with the agreed scores.

    ``exact`` and ``adjacent`` are shares from 0 to 1, ``bias`` the mean of given less agreed in
    shares (above 0: more generous than agreed), ``pieces`` how many different reference pieces
    the rows come from. NotComputed where there are no rows.
    """

    exact: Result
    adjacent: Result
    bias: Result
    pieces: int
    section: Section


def bias(given: Sequence[float], agreed: Sequence[float]) -> Result:
    """The mean of given less agreed scores, in shares from -1 to 1, with a t interval.

    d̄ ± t(n-1) s/√n over the n pairs, s their standard deviation with divisor n-1. Source:
    the paired t interval (Student 1908, Biometrika 6:1). No interval for a single pair or where
    all differences are the same. EvidenceError for lists of unlike length.

    >>> figure = bias([1.0, 0.5, 1.0], [0.5, 0.5, 1.0])
    >>> round(figure.value, 4), round(figure.low, 4), round(figure.high, 4)
    (0.1667, -0.5504, 0.8838)
    """
    title = "Bias against the agreed scores"
    if len(given) != len(agreed):
        raise EvidenceError("given", "One given score for each agreed one is needed.")
    if not given:
        return NotComputed("bias", title, NOTHING)
    differences = np.asarray(given, dtype=float) - np.asarray(agreed, dtype=float)
    n, mean = len(differences), float(differences.mean())
    spread = float(differences.std(ddof=1)) if n > 1 else 0.0
    source = "Student 1908, Biometrika 6:1"
    if spread <= SAME:
        why = "none: one score only" if n == 1 else "none: every difference is the same"
        return Figure("bias", title, mean, interval=why, n=n, indicative=True, source=source)
    error = spread / n**0.5
    reach = float(student.ppf(0.975, n - 1)) * error
    return Figure(
        "bias",
        title,
        mean,
        mean - reach,
        mean + reach,
        error,
        interval="t, 95%",
        n=n,
        indicative=True,
        source=source,
    )


def calibration(rows: Sequence[CalibrationRow]) -> Calibration:
    """Exact and adjacent agreement with the agreed scores, and bias; overall, by criterion, by day.

    Exact: the share of rows scored as agreed; adjacent: at most one step apart (for a criterion
    with two steps only that is always so, so those do not count towards it). Both with Wilson
    intervals; bias as in ``bias``. A sitting is taken by its ``sitting``, in the order of the
    rows. Rows of one piece are not independent of each other, so intervals are indicative.

    >>> row = CalibrationRow("s1", "3 Mar", "Sill A", "C1", "Joint", 0.5, 1.0, (0.0, 0.5, 1.0))
    >>> found = calibration([row])
    >>> found.exact.value, found.adjacent.value, found.bias.value, found.pieces
    (0.0, 1.0, 0.5, 1)
    """
    graded = [row for row in rows if len(row.steps) > 2]
    exact = proportion("exact", "Scored exactly as agreed", _exact(rows), len(rows), none=NOTHING)
    adjacent = proportion(
        "adjacent",
        "At most one level from the agreed score",
        sum(abs(row.apart) <= 1 for row in graded),
        len(graded),
        none="No criterion with three or more levels has been scored: "
        "use a reference piece with rated criteria."
        if rows
        else NOTHING,
    )
    lean = bias([row.given for row in rows], [row.agreed for row in rows])
    pieces = len({row.piece for row in rows})
    section = Section(
        "calibration",
        "Compared with the agreed scores",
        _summary(rows, lean, pieces),
        (exact, adjacent, lean),
        (_by_criterion(rows), _by_sitting(rows), _rows(rows)) if rows else (),
        notes=_notes(rows),
    )
    return Calibration(exact, adjacent, lean, pieces, section)


def _exact(rows: Iterable[CalibrationRow]) -> int:
    return sum(row.apart == 0 for row in rows)


def _mean(rows: Sequence[CalibrationRow]) -> float:
    return float(np.mean([row.given - row.agreed for row in rows]))


def _groups(rows: Iterable[CalibrationRow], name: str) -> dict[str, list[CalibrationRow]]:
    groups: dict[str, list[CalibrationRow]] = {}
    for row in rows:
        groups.setdefault(getattr(row, name), []).append(row)
    return groups


def _summary(rows: Sequence[CalibrationRow], lean: Result, pieces: int) -> str:
    if not rows or isinstance(lean, NotComputed):
        return NOTHING
    said = (
        f"{_exact(rows)} of {len(rows)} scores on {pieces} reference "
        f"{'piece' if pieces == 1 else 'pieces'} are exactly as agreed. "
    )
    points = f"{abs(lean.value) * 100:.1f} percentage points"
    if abs(lean.value) <= SAME:
        return said + "On average the scores are neither higher nor lower (no bias)."
    way = "higher" if lean.value > 0 else "lower"
    said += f"On average the scores are {points} {way} than agreed (bias)"
    if lean.low is not None and lean.high is not None and lean.low <= 0 <= lean.high:
        return said + ", which so few scores can show by chance."
    return said + "."


def _notes(rows: Sequence[CalibrationRow]) -> tuple[str, ...]:
    if not rows:
        return ()
    return (
        "Scores of one piece are not independent of each other: take the intervals as a guide.",
        "Bias is the mean of given less agreed scores: above 0 is more generous than agreed.",
    )


def _by_criterion(rows: Sequence[CalibrationRow]) -> Table:
    found = []
    for group in _groups(rows, "criterion").values():
        exact = proportion("exact", "", _exact(group), len(group))
        assert isinstance(exact, Figure)
        apart = max(abs(row.apart) for row in group)
        found.append(
            (group[0].title, len(group), exact.value, exact.low, exact.high, _mean(group), apart)
        )
    columns = ("Criterion", "Scores", "Exact", "Low", "High", "Bias", "Most steps apart")
    return Table("calibration_criteria", "By criterion", columns, tuple(found))


def _by_sitting(rows: Sequence[CalibrationRow]) -> Table:
    found = tuple(
        (group[0].when, group[0].piece, len(group), _exact(group) / len(group), _mean(group))
        for group in _groups(rows, "sitting").values()
    )
    columns = ("When", "Piece", "Scores", "Exact", "Bias")
    return Table("calibration_sittings", "Over time", columns, found)


def _rows(rows: Sequence[CalibrationRow]) -> Table:
    found = tuple(
        (row.when, row.piece, row.title, row.agreed, row.given, row.apart)
        for row in rows
        if row.apart
    )
    columns = ("When", "Piece", "Criterion", "Agreed", "Given", "Steps apart")
    return Table("calibration_unlike", "Scores that were not as agreed", columns, found)

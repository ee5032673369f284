"""The section on a panel's estimates: Angoff's and Ebel's methods end in the same sums."""

from __future__ import annotations

from math import isnan

import numpy as np

from assessments.evidence.judging.centre import TINY, Centre, centre
from assessments.evidence.judging.ends import Ends, sd_ends
from assessments.evidence.judging.estimates import Estimates
from assessments.evidence.judging.layout import layout
from assessments.evidence.judging.pictures import criteria_drawings, cuts_drawing
from assessments.evidence.judging.recommendation import SUGGESTION, Recommendation
from assessments.evidence.judging.words import count, listed, percent, points
from assessments.evidence.results import Cell, Figure, NotComputed, Result, Section, Table
from assessments.evidence.scores import Array

# Judges this far apart on one criterion are named. Common practice, no source.
WIDE = 0.3
_CUT = "Recommended cut"
_BAND = "Band around the cut"
_LAYOUT = "MacCann & Stanley 2004; Brennan & Lockwood 1980"
_AVERAGE = {"mean": "mean", "median": "median", "trimmed": "trimmed mean"}


def recommend(
    method: str,
    title: str,
    source: str,
    given: Estimates,
    statistic: str,
    *,
    trim: float,
    samples: int,
    seed: int,
    before: Estimates | None = None,
    why_missing: str = "no estimate",
    tables: tuple[Table, ...] = (),
    notes: tuple[str, ...] = (),
) -> Recommendation:
    """The recommendation from checked estimates; ``before`` is the round before."""
    cuts = given.cuts()
    found = _middle(cuts[given.complete], statistic, trim, samples, seed)
    cut = _cut(found, given, statistic, source)
    figures = (cut, _band(found), *_spreads(given, before), *_components(given))
    missing = given.gaps(why_missing)
    drawings = (
        *((cuts_drawing(f"{method}-cuts", given, found),) if isinstance(found, Centre) else ()),
        *(
            criteria_drawings(f"{method}-estimates", given)
            if not np.isnan(given.values).all()
            else ()
        ),
    )
    section = Section(
        method,
        title,
        " ".join(_summary(cut, given, statistic)),
        figures,
        (
            _judge_table(given, before),
            criteria_table(given),
            *tables,
            *((missing,) if missing.rows else ()),
        ),
        drawings,
        (*notes, *_notes(given)),
    )
    return Recommendation(method, cut, section)


def _middle(cuts: Array, statistic: str, trim: float, samples: int, seed: int) -> Centre | str:
    if len(cuts) >= 2:
        return centre(cuts, statistic, trim=trim, samples=samples, seed=seed)
    # The arguments are checked whatever the number of judges.
    centre(np.array([0.0, 1.0]), statistic, trim=0.0, samples=samples, seed=seed)
    had = count(len(cuts), "judge has", "judges have")
    return f"At least two judges must estimate every criterion; {had} done so."


def _cut(found: Centre | str, given: Estimates, statistic: str, source: str) -> Result:
    if isinstance(found, str):
        return NotComputed("cut", _CUT, found)
    judges = int(given.complete.sum())
    name = _AVERAGE[statistic]
    if found.band is None:
        return Figure(
            "cut",
            _CUT,
            found.value,
            interval="none: the judges do not differ",
            n=judges,
            notes=(
                f"The judges do not differ where the {name} looks, so this panel cannot tell how "
                "far another one might.",
            ),
            source=source,
        )
    low, high = found.value - found.band, found.value + found.band
    return Figure(
        "cut",
        _CUT,
        found.value,
        max(low, 0.0),
        min(high, 1.0),
        found.standard_error,
        interval=f"t interval with {found.freedom} degrees of freedom; {found.how}",
        n=judges,
        notes=(
            f"The {name} of the judges' cuts.",
            *(("The interval is cut off at 0 or 100 %.",) if low < 0 or high > 1 else ()),
        ),
        source=f"{source}; {found.source}",
    )


def _band(found: Centre | str) -> Result:
    if isinstance(found, str):
        return NotComputed("band", _BAND, "There is no cut to set it around.")
    if found.band is None or found.standard_error is None:
        return NotComputed(
            "band", _BAND, "The judges do not differ, so their spread suggests no band."
        )
    return Figure(
        "band",
        _BAND,
        found.band,
        notes=(
            SUGGESTION,
            f"{found.multiple:.3f} times the standard error of {points(found.standard_error)}: "
            f"Student's t, 95 %, {found.freedom} degrees of freedom.",
        ),
        source=found.source,
    )


def _spreads(given: Estimates, before: Estimates | None) -> tuple[Result, ...]:
    rounds = [("spread", "SD of the judges' cuts", given)]
    if before is not None:
        rounds.append(("spread_before", "SD of the judges' cuts in the round before", before))
    found: list[Result] = []
    for key, title, which in rounds:
        cuts = which.cuts()[which.complete]
        if len(cuts) < 2:
            found.append(
                NotComputed(key, title, "Fewer than two judges estimated every criterion.")
            )
        else:
            sd, freedom = float(cuts.std(ddof=1)), len(cuts) - 1
            ends: Ends = sd_ends(sd, freedom) if sd > TINY else (None, None)
            how = f"chi-squared interval with {freedom} degrees of freedom" if sd > TINY else ""
            found.append(Figure(key, title, sd, *ends, interval=how, n=len(cuts)))
    return tuple(found)


def _components(given: Estimates) -> tuple[Result, ...]:
    titles = {
        "se_fixed": "Standard error of the mean cut, the criteria as fixed (unweighted)",
        "se_random": "Standard error of the mean cut, the criteria as a sample (unweighted)",
        "variance_judge": "Variance between judges (unweighted layout)",
        "variance_criterion": "Variance between criteria (unweighted layout)",
        "variance_residual": "Variance left over: judges who differ by criterion (unweighted)",
    }
    judges, items = given.whole.shape
    if judges < 2 or items < 2:
        reason = "It needs at least two criteria, and two judges who estimated every one."
        return tuple(NotComputed(key, title, reason) for key, title in titles.items())
    found = layout(given.whole)
    values = (found.fixed, found.random, found.judge, found.criterion, found.residual)
    held = ("Below zero by chance, and held at zero.",)
    return tuple(
        Figure(
            key,
            title,
            value,
            n=judges,
            notes=held if key in found.negative else (),
            source=_LAYOUT,
        )
        for (key, title), value in zip(titles.items(), values, strict=True)
    )


def _judge_table(given: Estimates, before: Estimates | None) -> Table:
    cuts, complete = given.cuts(), given.complete
    earlier = None if before is None else before.cuts()
    rows = []
    for place, judge in enumerate(given.judges):
        cut = _known(cuts[place])
        rest = np.delete(cuts, place)[np.delete(complete, place)]
        own = given.values[place][~np.isnan(given.values[place])]
        spread = float(own.std(ddof=1)) if len(own) > 1 else None
        distance = None if cut is None or not len(rest) else cut - float(rest.mean())
        row: tuple[Cell, ...] = (judge, cut, spread, distance)
        if earlier is not None:
            old = _known(earlier[place])
            row += (old, None if cut is None or old is None else cut - old)
        rows.append(row)
    columns: tuple[str, ...] = ("Judge", "Cut", "SD of the estimates")
    columns += ("Above the mean of the others",)
    if earlier is not None:
        columns += ("Cut in the round before", "Change")
    return Table("judges", "Judge by judge (shares)", columns, tuple(rows))


def criteria_table(given: Estimates) -> Table:
    """Mean, SD and range of every estimate given for each criterion."""
    rows = []
    for place, item in enumerate(given.items):
        known = given.values[:, place][~np.isnan(given.values[:, place])]
        some = len(known) > 0
        rows.append(
            (
                item,
                float(given.weights[place]),
                len(known),
                float(known.mean()) if some else None,
                float(known.std(ddof=1)) if len(known) > 1 else None,
                float(known.min()) if some else None,
                float(known.max()) if some else None,
            )
        )
    return Table(
        "criteria",
        "Criterion by criterion (shares)",
        ("Criterion", "Weight", "Judges", "Mean", "SD", "Lowest", "Highest"),
        tuple(rows),
    )


def far_apart(given: Estimates) -> str | None:
    """The sentence on criteria where judges differ widely, widest first; None where none does."""
    known = ~np.isnan(given.values)
    low = np.where(known, given.values, 1.0).min(axis=0, initial=1.0)
    high = np.where(known, given.values, 0.0).max(axis=0, initial=0.0)
    order = np.argsort(low - high, kind="stable")
    wide = [
        f"{given.items[place]} ({percent(low[place])} to {percent(high[place])})"
        for place in order
        if high[place] - low[place] >= WIDE - TINY
    ]
    if not wide:
        return None
    return f"The judges are far apart on {listed(wide)}."


def _summary(cut: Result, given: Estimates, statistic: str) -> list[str]:
    said = []
    if isinstance(cut, NotComputed):
        said.append(f"There is no recommended cut. {cut.reason}")
    elif cut.standard_error is None:
        judges = count(cut.n or 0, "judge", "judges")
        said.append(
            f"The panel of {judges} puts the cut at {percent(cut.value)}. They do not differ, so "
            "there is no telling how far another panel might."
        )
    else:
        judges = count(cut.n or 0, "judge", "judges")
        said.append(
            f"The panel of {judges} puts the cut at {percent(cut.value)} "
            f"({_AVERAGE[statistic]} of the judges). As far as these judges can tell, it lies "
            f"between {percent(cut.low or 0.0)} and {percent(cut.high or 0.0)} "
            f"(95 % interval; standard error {points(cut.standard_error)})."
        )
    gone = [judge for judge, whole in zip(given.judges, given.complete, strict=True) if not whole]
    if gone:
        were = "is" if len(gone) == 1 else "are"
        said.append(f"{listed(gone)} left a gap and {were} not part of the cut.")
    apart = far_apart(given)
    if apart:
        said.append(apart)
    return said


def _notes(given: Estimates) -> tuple[str, ...]:
    notes = [
        "A missing estimate is never filled in. The table of criteria counts every estimate "
        "given; the cut counts only judges who estimated every criterion.",
        f"Judges count as far apart on a criterion from {points(WIDE)} between the lowest and the "
        "highest estimate (common practice, no source).",
    ]
    if np.ptp(given.weights) > TINY:
        notes.append(
            "The cut uses the weights of the criteria. The variances, and the two standard errors "
            "beside them, are of the unweighted layout."
        )
    return tuple(notes)


def _known(value: float) -> float | None:
    return None if isnan(value) else float(value)

"""How far each outcome and each criterion was attained."""

from assessments.evaluation.data import Evaluation
from assessments.evaluation.sections.words import rounded, run_name, share
from assessments.evidence.agreement.proportions import proportion_interval
from assessments.evidence.drawings import Dot, dots
from assessments.evidence.results import Drawing, Section, Table
from assessments.queries.attainment import OutcomeAttained

TITLE = "Outcomes attained"
NOTE = (
    "From the decision that counts for each trainee. A mean is that of the engine's exact scores, "
    "from 0 to 1, at the lowest where a score is open. Outcomes or criteria whose words changed "
    "between versions stand in rows of their own."
)


def outcomes_section(found: Evaluation) -> Section:
    """Outcomes and criteria over all runs and, for outcomes, run by run (shares from 0 to 1)."""
    outcomes = found.whole.outcomes
    if not outcomes:
        return Section("outcomes", TITLE, "Nothing is decided yet: outcomes follow decisions.")
    return Section(
        "outcomes",
        TITLE,
        _summary(found),
        tables=(_outcomes(found), _by_run(found), _criteria(found)),
        drawings=_drawings(found),
        notes=(NOTE,),
    )


def _summary(found: Evaluation) -> str:
    scored = [each for each in found.whole.outcomes if each.mean is not None]
    if not scored:
        return "No decision scores an outcome yet: the attempts are incomplete."
    lowest = min(scored, key=lambda each: each.mean or 0)
    return (
        f"The lowest mean score is that of {lowest.key}, {lowest.statement}: "
        f"{float(lowest.mean or 0):.0%} over {lowest.scored} decisions."
    )


def _outcomes(found: Evaluation) -> Table:
    columns = (
        "Outcome",
        "The holder can",
        "Minimum met",
        "Minimum not met",
        "No minimum set",
        "Not judged",
        "Mean score",
    )
    rows = [
        (
            each.key,
            each.statement,
            each.met,
            each.not_met,
            each.no_minimum,
            each.not_judged,
            rounded(each.mean),
        )
        for each in found.whole.outcomes
    ]
    return Table("outcomes", "Outcomes over all runs", columns, tuple(rows), first=True)


def _by_run(found: Evaluation) -> Table:
    columns = ("Run", "Outcome", "Minimum met", "Of judged", "Mean score")
    rows = [
        (
            run_name(run),
            each.key,
            each.met,
            each.met + each.not_met,
            rounded(each.mean),
        )
        for run in found.runs
        for each in found.by_run[run.pk].outcomes
    ]
    return Table("outcomes_by_run", "Outcomes by run", columns, tuple(rows))


def _criteria(found: Evaluation) -> Table:
    columns = (
        "Criterion",
        "Title",
        "Met",
        "Not met",
        "Not applicable",
        "Open",
        "Share met",
        "Mean score",
    )
    rows = [
        (
            each.key,
            each.title,
            each.met,
            each.not_met,
            each.not_applicable,
            each.open,
            share(each.met, each.met + each.not_met),
            rounded(each.mean),
        )
        for each in found.whole.criteria
    ]
    return Table("criteria", "Criteria over all runs", columns, tuple(rows))


def _drawings(found: Evaluation) -> tuple[Drawing, ...]:
    rows = [_dot(each) for each in found.whole.outcomes]
    if all(row.value is None for row in rows):
        return ()
    said = "; ".join(
        f"{row.title}: {'none' if row.value is None else f'{row.value:.2f}'}" for row in rows
    )
    title = "Share of judged trainees who met the outcome's minimum"
    return dots("outcomes-met", title, f"{title}. {said}.", rows, axis="Share who met the minimum")


def _dot(each: OutcomeAttained) -> Dot:
    judged = each.met + each.not_met
    title = f"{each.key} {each.statement}"
    if not judged:
        return Dot(title, None, reason="no minimum was judged")
    low, high = proportion_interval(each.met, judged)
    value = each.met / judged
    return Dot(title, value, min(low, value), max(high, value))

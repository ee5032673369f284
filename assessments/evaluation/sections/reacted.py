"""What trainees said of the runs, where enough have answered."""

from fractions import Fraction

from assessments.evaluation.data import Evaluation
from assessments.evaluation.sections.words import counted, rounded, run_name
from assessments.evidence.drawings import Series, lines
from assessments.evidence.results import Drawing, Section, Table
from training.queries.reactions import Reactions
from training.reaction_form import HIGHEST, LOWEST, SHOWN_FROM

TITLE = "What trainees said"
NOTE = (
    f"Answers from {LOWEST} (not at all) to {HIGHEST} (fully), given without names. A run with "
    f"fewer than {SHOWN_FROM} answers counts in no mean. Who was content has not for that reason "
    "learned: read these beside the outcomes."
)


def reactions_section(found: Evaluation) -> Section:
    """Means of the answers (1 to 5) over the runs that may be shown, and run by run."""
    answered = sum(each.answered for each in found.reactions.values())
    asked = sum(each.enrolled for each in found.reactions.values())
    shown = [run for run in found.runs if found.reactions[run.pk].shown]
    if not shown:
        summary = (
            f"{answered} of {counted(asked, 'trainee')} have answered. Answers about a run are "
            f"shown from {SHOWN_FROM} on."
        )
        return Section("reactions", TITLE, summary, notes=(NOTE,))
    lowest = min(_pooled(found), key=lambda row: row[2])
    summary = (
        f"{answered} of {counted(asked, 'trainee')} have answered. Least agreement, "
        f"{float(lowest[2]):.1f} of {HIGHEST}: “{lowest[0]}”"
    )
    return Section(
        "reactions",
        TITLE,
        summary,
        tables=(_statements(found), _by_run(found)),
        drawings=_trend(found),
        notes=(NOTE,),
    )


def _shown(found: Evaluation) -> list[Reactions]:
    return [found.reactions[run.pk] for run in found.runs if found.reactions[run.pk].shown]


def _pooled(found: Evaluation) -> list[tuple[str, int, Fraction]]:
    """Return each answered statement with the number of its answers and their exact mean."""
    sums: dict[str, tuple[int, int]] = {}
    for reactions in _shown(found):
        for each in reactions.statements:
            count, total = sums.get(each.words, (0, 0))
            chosen = sum(place * number for place, number in enumerate(each.chosen, start=LOWEST))
            sums[each.words] = (count + each.answered, total + chosen)
    return [
        (words, count, Fraction(total, count)) for words, (count, total) in sums.items() if count
    ]


def _statements(found: Evaluation) -> Table:
    rows = tuple((words, count, rounded(mean)) for words, count, mean in _pooled(found))
    title = "Agreement over all runs shown (1 to 5)"
    return Table("statements", title, ("Statement", "Answers", "Mean"), rows, first=True)


def _by_run(found: Evaluation) -> Table:
    rows = []
    for run in found.runs:
        each = found.reactions[run.pk]
        rows.append((run_name(run), each.enrolled, each.answered, rounded(_overall(each))))
    columns = ("Run", "Trainees", "Answers", "Mean of all statements")
    return Table("reactions_by_run", "Answers by run", columns, tuple(rows))


def _overall(reactions: Reactions) -> Fraction | None:
    means = [each.mean for each in reactions.statements if each.mean is not None]
    return sum(means, Fraction(0)) / len(means) if means else None


def _trend(found: Evaluation) -> tuple[Drawing, ...]:
    points = [
        (number, float(mean))
        for number, run in enumerate(found.runs, start=1)
        if (mean := _overall(found.reactions[run.pk])) is not None
    ]
    if len(points) < 2:
        return ()
    said = "; ".join(f"run {number}: {value:.1f}" for number, value in points)
    return (
        lines(
            "reactions-trend",
            "Mean agreement with all statements, run by run",
            f"Mean agreement from 1 to 5. {said}.",
            [Series("Mean", [float(x) for x, _ in points], [y for _, y in points])],
            x_label="Run, in the order of the table",
            y_label="Mean, 1 to 5",
            y_limits=(LOWEST - 0.1, HIGHEST + 0.1),
        ),
    )

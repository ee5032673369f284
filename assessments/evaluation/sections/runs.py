"""Who began, who left, and who met the passing standard, run by run."""

from assessments.evaluation.data import Evaluation
from assessments.evaluation.sections.words import counted, run_name, share
from assessments.evidence.agreement.proportions import proportion
from assessments.evidence.drawings import Series, lines
from assessments.evidence.results import Drawing, Section, Table

TITLE = "Runs, results and drop-out"
COLUMNS = (
    "Run",
    "Version",
    "Enrolled",
    "Withdrawn",
    "Met",
    "Not yet met",
    "Incomplete",
    "Being assessed",
    "Not begun",
    "Share met of assessed",
)
NOTE = (
    "Withdrawn trainees are counted as drop-out and nowhere else. Met is told of those who were "
    "assessed; the passing standard is a fixed mark, so all of a run may meet it, or none."
)


def runs_section(found: Evaluation) -> Section:
    """Results and drop-out over all runs, and the trend (a share from 0 to 1 for each run)."""
    whole = found.whole
    if not found.runs:
        return Section("runs", TITLE, "The program has not been run yet: plan a run.")
    started = whole.enrolled + whole.withdrawn
    summary = (
        f"{counted(len(found.runs), 'run')}; {counted(started, 'trainee')}, of whom "
        f"{whole.withdrawn} withdrew. {whole.met} of {whole.assessed} assessed met the passing "
        "standard."
    )
    return Section(
        "runs",
        TITLE,
        summary,
        figures=(
            proportion(
                "met",
                "Share of the assessed who met the passing standard",
                whole.met,
                whole.assessed,
                none="Nobody is assessed yet.",
            ),
            proportion(
                "withdrawn",
                "Drop-out: share of trainees who withdrew",
                whole.withdrawn,
                started,
                none="Nobody was ever enrolled.",
            ),
        ),
        tables=(_table(found),),
        drawings=_trend(found),
        notes=(NOTE,),
    )


def _table(found: Evaluation) -> Table:
    rows = []
    for run in found.runs:
        each = found.by_run[run.pk]
        rows.append(
            (
                run_name(run),
                run.program.version,
                each.enrolled,
                each.withdrawn,
                each.met,
                each.not_yet_met,
                each.incomplete,
                each.open,
                each.none,
                share(each.met, each.assessed),
            )
        )
    return Table("runs", "Results by run", COLUMNS, tuple(rows), first=True)


def _trend(found: Evaluation) -> tuple[Drawing, ...]:
    met, gone = [], []
    for number, run in enumerate(found.runs, start=1):
        each = found.by_run[run.pk]
        if each.assessed:
            met.append((number, each.met / each.assessed))
        if started := each.enrolled + each.withdrawn:
            gone.append((number, each.withdrawn / started))
    if len(met) < 2:
        return ()
    said = "; ".join(f"run {number}: {value:.2f}" for number, value in met)
    return (
        lines(
            "runs-trend",
            "Share who met the passing standard, and share who withdrew, run by run",
            f"Share of the assessed who met the passing standard: {said}.",
            [
                Series("Met, of those assessed", *_split(met)),
                Series("Withdrew, of all", *_split(gone)),
            ],
            x_label="Run, in the order of the table",
            y_label="Share",
            y_limits=(-0.05, 1.05),
        ),
    )


def _split(points: list[tuple[int, float]]) -> tuple[list[float], list[float]]:
    return [float(x) for x, _ in points], [y for _, y in points]

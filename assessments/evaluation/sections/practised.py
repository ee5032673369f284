"""Whether who practised longer scored higher."""

from assessments.evaluation.data import Evaluation
from assessments.evaluation.rank_correlation import rank_correlation
from assessments.evaluation.sections.words import counted
from assessments.evidence.drawings import scatter
from assessments.evidence.results import Drawing, Figure, Section, Table

TITLE = "Practice against result"
NOTE = (
    "Minutes attended in supervised practice, from the sign-in; the score of the decision that "
    "counts. Nobody is named. More practice may follow from weaker work as well as lead to better."
)
NAMES = ("Minutes of supervised practice", "Overall score (0 to 1)")


def practice_section(found: Evaluation) -> Section:
    """Minutes beside scores, and their rank correlation where there are enough people."""
    pairs = found.practice.pairs
    minutes, scores = [float(each.minutes) for each in pairs], [each.score for each in pairs]
    result = rank_correlation(minutes, scores)
    unnoted = found.practice.unnoted
    left_out = (
        f"Left out: {counted(unnoted, 'scored trainee')} of whose presence in supervised practice "
        "nothing is noted."
    )
    notes = (NOTE, *((left_out,) if unnoted else ()))
    drawings: tuple[Drawing, ...] = ()
    if pairs:
        drawings = (
            scatter(
                "practice-score",
                "Supervised practice and overall score, a ring for each trainee",
                f"{counted(len(pairs), 'trainee')}, from {min(minutes):g} to {max(minutes):g} "
                f"minutes and from {min(scores):.2f} to {max(scores):.2f}.",
                minutes,
                scores,
                x_label=NAMES[0],
                y_label=NAMES[1],
            ),
        )
    rows = tuple(sorted((each.minutes, each.score) for each in pairs))
    tables = (Table("pairs", "The pairs, by minutes", NAMES, rows),) if pairs else ()
    return Section("practice", TITLE, _summary(result), (result,), tables, drawings, notes)


def _summary(result: object) -> str:
    if not isinstance(result, Figure):
        return "It cannot be said yet whether more practice goes with higher scores."
    low, high = result.low, result.high
    if low is not None and high is not None and low <= 0 <= high:
        return "More practice may go with higher or with lower scores: the figures leave both open."
    way = "higher" if result.value > 0 else "lower"
    return f"Who practised longer tended to score {way} (rank correlation {result.value:.2f})."

"""How sections of an evaluation name runs and say numbers."""

from fractions import Fraction

from training.models import CourseRun


def run_name(run: CourseRun) -> str:
    """Return a run's site and first day, as rows of tables name it."""
    return f"{run.site.name}, {run.starts_on.day} {run.starts_on:%b %Y}"


def counted(count: int, one: str, many: str = "") -> str:
    """Return a number with its word.

    >>> counted(1, "run"), counted(3, "person", "people")
    ('1 run', '3 people')
    """
    return f"{count} {one if count == 1 else many or one + 's'}"


def share(part: int, whole: int) -> float | None:
    """Return a share from 0 to 1; None of nothing."""
    return part / whole if whole else None


def rounded(mean: Fraction | None) -> float | None:
    """Return an exact mean as a figure to read; None of none."""
    return None if mean is None else float(mean)

"""The runs whose scores a panel may use."""

from django.db.models import Exists, OuterRef, QuerySet

from assessments.models import Attempt
from assessments.queries.panel.asked import RESULTS
from training.models import CourseRun, Program


def source_runs(program: Program) -> QuerySet[CourseRun]:
    """Return the runs of any version of the program, at its provider, with attempts decided.

    What the panel fixes is sealed afterwards, so these were decided under another standard.
    """
    decided = Attempt.objects.filter(
        enrolment__run=OuterRef("pk"),
        state=Attempt.State.DECIDED,
        decisions__result__in=RESULTS,
    )
    return CourseRun.objects.filter(
        Exists(decided), program__provider=program.provider_id, program__code=program.code
    ).order_by("-starts_on", "pk")

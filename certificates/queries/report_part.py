"""The records issued on a run, for its training report to the owner."""

from collections.abc import Iterable

from assessments.trainingreport.work import MayDo, report_part_source
from certificates.models import Record
from certificates.queries.qualified import held_records, tone_of
from certificates.queries.ranges import ranges_stated
from certificates.queries.standing import REPLACED
from training.models import CourseRun


@report_part_source
def records_of_run(run: CourseRun) -> Iterable[MayDo]:
    """Return the records issued on ``run``, how they stand today and what they cover.

    Those that another record replaced are left out (four queries).
    """
    issued = Record.objects.filter(decision__attempt__enrolment__run=run).order_by("issued_at")
    held = [row for row in held_records(issued.values_list("pk", flat=True)) if _told(row.word)]
    ranges = ranges_stated(row.standard_id for row in held)
    for row in held:
        stated = ranges.get(row.standard_id) or {}
        yield MayDo(
            person=row.holder_id,
            number=row.number,
            issued=row.issued_on.isoformat(),
            state=tone_of(row.word)[2],
            counts=row.counts,
            until=row.counts_until.isoformat() if row.counts_until else "",
            covers=tuple((each["title"], each["covers"]) for each in stated.get("rows", [])),
        )


def _told(word: str) -> bool:
    return word != REPLACED

"""What records tell for the evidence file of a program; registered when the app starts."""

from collections import Counter
from collections.abc import Iterable

from django.urls import reverse
from django.utils import timezone

from assessments.evaluation.file import Fact, Held, Lacking, fact_source
from assessments.evaluation.sections.words import counted
from assessments.models import QualificationRules
from assessments.queries.attempts import met_decisions
from certificates.models import Confirmation, Record
from certificates.queries.standing import standing_of, with_standing
from training.models import Program


@fact_source
def records_issued(program: Program) -> Iterable[Fact]:
    """Records issued under this version, and met decisions without one (four queries)."""
    page = reverse("record_list")
    issued = list(
        with_standing(Record.objects.filter(decision__attempt__enrolment__run__program=program))
    )
    if issued:
        newest = max(record.issued_at for record in issued)
        stand = Counter(standing_of(record).counts for record in issued)
        yield Held(
            "certificate",
            f"{counted(len(issued), 'record')} issued, the last on "
            f"{timezone.localtime(newest):%d %b %Y}. Each is signed, names the sealed standard "
            "and the decision, and anyone can check it without an account.",
            page,
        )
        yield Held(
            "validity",
            f"{stand[True]} of {len(issued)} hold today. Suspension, withdrawal and replacement "
            "are kept with their reasons, and a withdrawal takes two people.",
            page,
        )
    waiting = (
        met_decisions()
        .filter(attempt__enrolment__run__program=program, records__isnull=True)
        .count()
    )
    if waiting:
        text = f"{counted(waiting, 'trainee')} met the standard and no record is issued yet."
        yield Lacking("certificate", text, reverse("run_list"), "See the runs")
    elif not issued:
        text = "No record was issued yet: nobody has met the standard under this version."
        yield Lacking("certificate", text, reverse("run_list"), "See the runs")


@fact_source
def renewal(program: Program) -> Iterable[Fact]:
    """How long a record holds, and what keeps it (two queries)."""
    page = reverse("program", args=[program.pk])
    if program.validity_months:
        text = f"A record is valid for {counted(program.validity_months, 'month')}."
        yield Held("validity", text, page)
    else:
        yield Lacking(
            "validity",
            "No end is set. Set the months of validity in the program's file, or write there why "
            "a record holds without end.",
            page,
            "See the program",
        )
    rules = QualificationRules.objects.filter(program=program).exists()
    confirmed = Confirmation.objects.filter(
        record__decision__attempt__enrolment__run__program=program
    ).count()
    if rules:
        text = f"Rules of range and continuity are written; {counted(confirmed, 'confirmation')}."
        yield Held("validity", f"{text[:-1]} that a holder kept at the work.", page)

"""What records tell for the evidence file of a program; registered when the app starts."""

from collections import Counter
from collections.abc import Iterable

from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from assessments.evaluation.file import Fact, Held, Lacking, fact_source
from assessments.models import QualificationRules
from assessments.queries.attempts import met_decisions
from certificates.models import Confirmation, Record
from certificates.queries.standing import standing_of, with_standing
from training.dates import day_text
from training.models import Program


@fact_source
def records_issued(program: Program) -> Iterable[Fact]:
    """Records issued under this version, and met decisions without one (four queries)."""
    page = reverse("record_list")
    issued = list(
        with_standing(Record.objects.filter(decision__attempt__enrolment__run__program=program))
    )
    if issued:
        newest = timezone.localtime(max(record.issued_at for record in issued))
        stand = Counter(standing_of(record).counts for record in issued)
        yield Held(
            "certificate",
            ngettext(
                "{count} record issued, the last on {day}. Each is signed, names the sealed "
                "standard and the decision, and anyone can check it without an account.",
                "{count} records issued, the last on {day}. Each is signed, names the sealed "
                "standard and the decision, and anyone can check it without an account.",
                len(issued),
            ).format(count=len(issued), day=day_text(newest.date())),
            page,
        )
        yield Held(
            "validity",
            _(
                "{count} of {issued} hold today. Suspension, withdrawal and replacement are kept "
                "with their reasons, and a withdrawal takes two people."
            ).format(count=stand[True], issued=len(issued)),
            page,
        )
    waiting = (
        met_decisions()
        .filter(attempt__enrolment__run__program=program, records__isnull=True)
        .count()
    )
    if waiting:
        text = ngettext(
            "{count} trainee met the standard and no record is issued yet.",
            "{count} trainees met the standard and no record is issued yet.",
            waiting,
        ).format(count=waiting)
        yield Lacking("certificate", text, reverse("run_list"), _("See the runs"))
    elif not issued:
        text = _("No record was issued yet: nobody has met the standard under this version.")
        yield Lacking("certificate", text, reverse("run_list"), _("See the runs"))


@fact_source
def renewal(program: Program) -> Iterable[Fact]:
    """How long a record holds, and what keeps it (two queries)."""
    page = reverse("program", args=[program.pk])
    if program.validity_months:
        text = ngettext(
            "A record is valid for {count} month.",
            "A record is valid for {count} months.",
            program.validity_months,
        ).format(count=program.validity_months)
        yield Held("validity", text, page)
    else:
        yield Lacking(
            "validity",
            _(
                "No end is set. Set the months of validity in the program's file, or write there "
                "why a record holds without end."
            ),
            page,
            _("See the program"),
        )
    rules = QualificationRules.objects.filter(program=program).exists()
    confirmed = Confirmation.objects.filter(
        record__decision__attempt__enrolment__run__program=program
    ).count()
    if rules:
        text = ngettext(
            "Rules of range and continuity are written; {count} confirmation that a holder kept "
            "at the work.",
            "Rules of range and continuity are written; {count} confirmations that a holder kept "
            "at the work.",
            confirmed,
        ).format(count=confirmed)
        yield Held("validity", text, page)

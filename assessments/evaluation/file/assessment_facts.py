"""What the assessment tells: the sealed standard, panels, agreement, integrity."""

from collections.abc import Iterable

from django.db.models import Count, Q
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from assessments.evaluation.file.facts import Fact, Held, Lacking, fact_source
from assessments.models import (
    Adoption,
    AssessorRequirement,
    Attempt,
    EvidenceReport,
    Observation,
    Photo,
    SealedStandard,
)
from training.dates import day_text
from training.models import Program


@fact_source
def fixed_beforehand(program: Program) -> Iterable[Fact]:
    """When the standard was sealed, and how many attempts began after (two queries)."""
    draft = reverse("standard", args=[program.pk])
    standards = list(
        SealedStandard.objects.filter(program=program)
        .defer("document")
        .annotate(started=Count("attempts"))
        .order_by("serial")
    )
    if not standards:
        text = _("No passing standard is sealed. Look at the draft and seal it before any attempt.")
        yield Lacking("method", text, draft, _("Look at the draft"))
    for each in standards:
        text = ngettext(
            "Standard {serial} was sealed on {sealed}; {count} attempt began under it. The "
            "database refuses an attempt that begins before the seal.",
            "Standard {serial} was sealed on {sealed}; {count} attempts began under it. The "
            "database refuses an attempt that begins before the seal.",
            each.started,
        )
        yield Held(
            "method",
            text.format(
                serial=each.serial,
                sealed=date_format(timezone.localtime(each.sealed_at), "d M Y, H:i"),
                count=each.started,
            ),
            reverse("sealed_standard", args=[each.pk]),
        )
    adoptions = Adoption.objects.filter(panel__program=program).select_related("panel")
    adopted = list(adoptions.defer("document").order_by("adopted_at"))
    for each_adoption in adopted:
        yield Held(
            "standard",
            _("A panel's recommendation was adopted on {day}.").format(
                day=day_text(timezone.localtime(each_adoption.adopted_at))
            ),
            reverse("panel", args=[each_adoption.panel_id]),
        )
    if not adopted:
        text = _(
            "No panel of judges stands behind the passing standard. Have those who know the "
            "trade judge it, or write down beside this file how it was arrived at."
        )
        new = reverse("panel_new", args=[program.pk])
        yield Lacking("standard", text, new, _("Convene a panel"))


@fact_source
def reliable(program: Program) -> Iterable[Fact]:
    """Reports on agreement, second assessors, calibration (three queries)."""
    page = reverse("program_evidence", args=[program.pk])
    reports = EvidenceReport.objects.filter(standard__program=program)
    made = list(reports.order_by("-made_at").values_list("pk", "made_at"))
    if made:
        text = ngettext(
            "{count} report on how assessors agree, the newest of {day}.",
            "{count} reports on how assessors agree, the newest of {day}.",
            len(made),
        )
        yield Held(
            "reliability",
            text.format(count=len(made), day=day_text(timezone.localtime(made[0][1]))),
            reverse("evidence_report", args=[made[0][0]]),
        )
    else:
        text = _("There is no report on how assessors agree. Make one once attempts are decided.")
        yield Lacking("reliability", text, page, _("See the evidence"))
    attempts = Attempt.objects.filter(
        enrolment__run__program=program, state=Attempt.State.DECIDED
    ).annotate(assessors=Count("observations__assessor", distinct=True))
    counts = list(attempts.order_by().values_list("assessors", flat=True))
    twice = sum(count > 1 for count in counts)
    if twice:
        text = ngettext(
            "{twice} of {count} decided attempt were scored by two or more.",
            "{twice} of {count} decided attempts were scored by two or more.",
            len(counts),
        )
        yield Held("reliability", text.format(twice=twice, count=len(counts)), page)
    else:
        text = _("No attempt was scored by a second assessor. Plan it for some of the next run.")
        yield Lacking("reliability", text, page, _("See the evidence"))
    assessors = reverse("assessors", args=[program.pk])
    if AssessorRequirement.objects.filter(program=program).exists():
        text = _("Assessors have to score reference pieces as agreed before they sign off.")
        yield Held("reliability", text, assessors)
    else:
        text = _("Nothing is asked of assessors before they sign off.")
        yield Lacking("reliability", text, assessors, _("Set what is asked"))


@fact_source
def fair_and_secure(program: Program) -> Iterable[Fact]:
    """Equal treatment, and what keeps results safe (three queries)."""
    sealed = SealedStandard.objects.filter(program=program).order_by("-serial")
    newest = sealed.only("pk").first()
    if newest is not None:
        yield Held(
            "fairness",
            _(
                "Every trainee is judged by the sealed standard, can read it beforehand, and may "
                "make another attempt."
            ),
            reverse("sealed_standard", args=[newest.pk]),
        )
    yield Lacking(
        "fairness",
        _(
            "Adjustments for single trainees (sight, language, injury) are not recorded here: keep "
            "the rule and each case beside this file."
        ),
    )
    mine = Q(attempt__enrolment__run__program=program)
    # What a retake carried over was observed once.
    observed = Observation.objects.filter(mine, carried_from__isnull=True).count()
    pictures = Photo.objects.filter(mine).count()
    if observed:
        seen = ngettext("{count} observation", "{count} observations", observed)
        taken = ngettext("{count} photograph", "{count} photographs", pictures)
        yield Held(
            "integrity",
            _(
                "{observations} with assessor, device and time, {photographs}. None can be "
                "changed: a correction stands beside what it corrects, and nobody assesses the "
                "own work."
            ).format(
                observations=seen.format(count=observed), photographs=taken.format(count=pictures)
            ),
        )
    else:
        yield Lacking(
            "integrity",
            _("Nothing is observed yet, so there is nothing to show."),
            reverse("program", args=[program.pk]),
            _("See the program"),
        )

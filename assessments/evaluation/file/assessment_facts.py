"""What the assessment tells: the sealed standard, panels, agreement, integrity."""

from collections.abc import Iterable

from django.db.models import Count, Q
from django.urls import reverse
from django.utils import timezone

from assessments.evaluation.file.facts import Fact, Held, Lacking, fact_source
from assessments.evaluation.sections.words import counted
from assessments.models import (
    Adoption,
    AssessorRequirement,
    Attempt,
    EvidenceReport,
    Observation,
    Photo,
    SealedStandard,
)
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
        text = "No passing standard is sealed. Look at the draft and seal it before any attempt."
        yield Lacking("method", text, draft, "Look at the draft")
    for each in standards:
        sealed = f"{timezone.localtime(each.sealed_at):%d %b %Y, %H:%M}"
        yield Held(
            "method",
            f"Standard {each.serial} was sealed on {sealed}; {counted(each.started, 'attempt')} "
            "began under it. The database refuses an attempt that begins before the seal.",
            reverse("sealed_standard", args=[each.pk]),
        )
    adoptions = Adoption.objects.filter(panel__program=program).select_related("panel")
    adopted = list(adoptions.defer("document").order_by("adopted_at"))
    for each_adoption in adopted:
        yield Held(
            "standard",
            f"A panel's recommendation was adopted on "
            f"{timezone.localtime(each_adoption.adopted_at):%d %b %Y}.",
            reverse("panel", args=[each_adoption.panel_id]),
        )
    if not adopted:
        text = (
            "No panel of judges stands behind the passing standard. Have those who know the "
            "trade judge it, or write down beside this file how it was arrived at."
        )
        new = reverse("panel_new", args=[program.pk])
        yield Lacking("standard", text, new, "Convene a panel")


@fact_source
def reliable(program: Program) -> Iterable[Fact]:
    """Reports on agreement, second assessors, calibration (three queries)."""
    page = reverse("program_evidence", args=[program.pk])
    reports = EvidenceReport.objects.filter(standard__program=program)
    made = list(reports.order_by("-made_at").values_list("pk", "made_at"))
    if made:
        yield Held(
            "reliability",
            f"{counted(len(made), 'report')} on how assessors agree, the newest of "
            f"{timezone.localtime(made[0][1]):%d %b %Y}.",
            reverse("evidence_report", args=[made[0][0]]),
        )
    else:
        text = "There is no report on how assessors agree. Make one once attempts are decided."
        yield Lacking("reliability", text, page, "See the evidence")
    attempts = Attempt.objects.filter(
        enrolment__run__program=program, state=Attempt.State.DECIDED
    ).annotate(assessors=Count("observations__assessor", distinct=True))
    counts = list(attempts.order_by().values_list("assessors", flat=True))
    twice = sum(count > 1 for count in counts)
    if twice:
        text = f"{twice} of {counted(len(counts), 'decided attempt')} were scored by two or more."
        yield Held("reliability", text, page)
    else:
        text = "No attempt was scored by a second assessor. Plan it for some of the next run."
        yield Lacking("reliability", text, page, "See the evidence")
    assessors = reverse("assessors", args=[program.pk])
    if AssessorRequirement.objects.filter(program=program).exists():
        text = "Assessors have to score reference pieces as agreed before they sign off."
        yield Held("reliability", text, assessors)
    else:
        text = "Nothing is asked of assessors before they sign off."
        yield Lacking("reliability", text, assessors, "Set what is asked")


@fact_source
def fair_and_secure(program: Program) -> Iterable[Fact]:
    """Equal treatment, and what keeps results safe (three queries)."""
    sealed = SealedStandard.objects.filter(program=program).order_by("-serial")
    newest = sealed.only("pk").first()
    if newest is not None:
        yield Held(
            "fairness",
            "Every trainee is judged by the sealed standard, can read it beforehand, and may "
            "make another attempt.",
            reverse("sealed_standard", args=[newest.pk]),
        )
    yield Lacking(
        "fairness",
        "Adjustments for single trainees (sight, language, injury) are not recorded here: keep "
        "the rule and each case beside this file.",
    )
    mine = Q(attempt__enrolment__run__program=program)
    observed = Observation.objects.filter(mine).count()
    pictures = Photo.objects.filter(mine).count()
    if observed:
        yield Held(
            "integrity",
            f"{counted(observed, 'observation')} with assessor, device and time, "
            f"{counted(pictures, 'photograph')}. None can be changed: a correction stands beside "
            "what it corrects, and nobody assesses the own work.",
        )
    else:
        yield Lacking(
            "integrity",
            "Nothing is observed yet, so there is nothing to show.",
            reverse("program", args=[program.pk]),
            "See the program",
        )

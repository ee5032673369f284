"""What follows from a run: complaints, answers, changes; and what is said in public."""

from collections.abc import Iterable
from datetime import timedelta

from django.db.models import Count, Exists, OuterRef, Q
from django.urls import reverse
from django.utils import timezone

from assessments.evaluation.file.facts import Fact, Held, Lacking, fact_source
from assessments.evaluation.sections.words import counted
from training.models import Complaint, CourseRun, Program, ProgramChange, Reaction
from training.queries.changes import versions_of
from training.queries.complaints import complaints_for_everybody

LATE = timedelta(days=30)  # common practice, no source


@fact_source
def complaints(program: Program) -> Iterable[Fact]:
    """Complaints about runs of any version (one query)."""
    page = reverse("complaint_list")
    made = Complaint.objects.filter(run__program__in=versions_of(program).order_by())
    about = complaints_for_everybody(made)
    still = Q(state=Complaint.State.OPEN)
    old = still & Q(made_at__lt=timezone.now() - LATE)
    told = about.aggregate(
        made=Count("pk"), open=Count("pk", filter=still), old=Count("pk", filter=old)
    )
    yield Held(
        "complaints",
        f"Whoever takes part can complain; leads alone read it, and answer. "
        f"{counted(told['made'], 'complaint')} so far, {told['open']} open.",
        page,
    )
    if told["old"]:
        text = f"{counted(told['old'], 'complaint')} open for more than {LATE.days} days."
        yield Lacking("complaints", text, page, "Answer")


@fact_source
def evaluated(program: Program) -> Iterable[Fact]:
    """Answers of trainees and changes decided (two queries)."""
    page, changes = (
        reverse(name, args=[program.pk]) for name in ("program_evaluation", "program_changes")
    )
    versions = versions_of(program).order_by()
    answered = Reaction.objects.filter(run=OuterRef("pk"))
    ended = list(
        CourseRun.objects.filter(program__in=versions, ends_on__lt=timezone.localdate())
        .annotate(answered=Exists(answered))
        .select_related("site")
        .order_by("starts_on")
    )
    if not ended:
        yield Lacking("evaluation", "No run has ended yet.", page, "See the evaluation")
    told = [run for run in ended if run.answered]
    if told:
        text = f"Trainees answered about {len(told)} of {counted(len(ended), 'run')} that ended."
        yield Held("evaluation", text, page)
    for run in ended:
        if not run.answered:
            text = (
                f"{run.site}, {run.starts_on:%d %b %Y}: nobody has answered about the run. "
                "Remind its trainees."
            )
            yield Lacking("evaluation", text, reverse("run", args=[run.pk]), "See the run")
    decided = ProgramChange.objects.filter(program__in=versions).aggregate(
        made=Count("pk"), done=Count("pk", filter=Q(done_on__isnull=False))
    )
    if decided["made"]:
        text = f"{counted(decided['made'], 'change')} decided on grounds, {decided['done']} done."
        yield Held("evaluation", text, changes)
    elif ended:
        text = "No change was decided after a run. Decide, or write down that none is needed."
        yield Lacking("evaluation", text, changes, "Decide")


@fact_source
def publicity(program: Program) -> Iterable[Fact]:
    """What records and pages say in public (no query)."""
    yield Held(
        "publicity",
        "Records and pages say that the holder met the passing standard of the program, which "
        "standard, and when; none says that a person is qualified for other work.",
    )
    yield Lacking(
        "publicity",
        "Advertisements, websites and letters are not kept here: keep a copy of each beside "
        "this file, and check that it promises no more than the record says.",
    )

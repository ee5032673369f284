"""What follows from a run: complaints, answers, changes; and what is said in public."""

from collections.abc import Iterable
from datetime import timedelta

from django.db.models import Count, Exists, OuterRef, Q
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from assessments.evaluation.file.facts import Fact, Held, Lacking, fact_source
from training.dates import day_text
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
    text = ngettext(
        "Whoever takes part can complain; leads alone read it, and answer. {count} complaint so "
        "far, {open} open.",
        "Whoever takes part can complain; leads alone read it, and answer. {count} complaints so "
        "far, {open} open.",
        told["made"],
    )
    yield Held("complaints", text.format(count=told["made"], open=told["open"]), page)
    if told["old"]:
        text = ngettext(
            "{count} complaint open for more than {days} days.",
            "{count} complaints open for more than {days} days.",
            told["old"],
        ).format(count=told["old"], days=LATE.days)
        yield Lacking("complaints", text, page, _("Answer"))


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
        yield Lacking("evaluation", _("No run has ended yet."), page, _("See the evaluation"))
    told = [run for run in ended if run.answered]
    if told:
        text = ngettext(
            "Trainees answered about {told} of {count} run that ended.",
            "Trainees answered about {told} of {count} runs that ended.",
            len(ended),
        ).format(told=len(told), count=len(ended))
        yield Held("evaluation", text, page)
    for run in ended:
        if not run.answered:
            text = _(
                "{site}, {day}: nobody has answered about the run. Remind its trainees."
            ).format(site=run.site, day=day_text(run.starts_on))
            yield Lacking("evaluation", text, reverse("run", args=[run.pk]), _("See the run"))
    decided = ProgramChange.objects.filter(program__in=versions).aggregate(
        made=Count("pk"), done=Count("pk", filter=Q(done_on__isnull=False))
    )
    if decided["made"]:
        text = ngettext(
            "{count} change decided on grounds, {done} done.",
            "{count} changes decided on grounds, {done} done.",
            decided["made"],
        ).format(count=decided["made"], done=decided["done"])
        yield Held("evaluation", text, changes)
    elif ended:
        text = _("No change was decided after a run. Decide, or write down that none is needed.")
        yield Lacking("evaluation", text, changes, _("Decide"))


@fact_source
def publicity(program: Program) -> Iterable[Fact]:
    """What records and pages say in public (no query)."""
    yield Held(
        "publicity",
        _(
            "Records and pages say that the holder met the passing standard of the program, which "
            "standard, and when; none says that a person is qualified for other work."
        ),
    )
    yield Lacking(
        "publicity",
        _(
            "Advertisements, websites and letters are not kept here: keep a copy of each beside "
            "this file, and check that it promises no more than the record says."
        ),
    )

"""What runs tell: instructors' papers, materials, sessions, presence, consents."""

from collections.abc import Iterable

from django.db.models import Count, Exists, OuterRef, Q
from django.urls import reverse
from django.utils import timezone

from assessments.evaluation.file.facts import Fact, Held, Lacking, fact_source
from assessments.evaluation.sections.words import counted
from training.models import (
    Attendance,
    Consent,
    CourseRun,
    DocumentTakenBack,
    Enrolment,
    Erasure,
    HeldDocument,
    LogEntry,
    Material,
    Module,
    Person,
    Program,
    Session,
)

INSTRUCTOR = "instructor"  # the kind of a paper that shows an instructor's qualification


@fact_source
def instructors(program: Program) -> Iterable[Fact]:
    """Who teaches the program, and whose qualification is on file today (one query)."""
    today = timezone.localdate()
    holds = HeldDocument.objects.filter(
        ~Exists(DocumentTakenBack.objects.filter(document=OuterRef("pk"))),
        Q(expires_on__isnull=True) | Q(expires_on__gte=today),
        person=OuterRef("pk"),
        provider=program.provider_id,
        kind=INSTRUCTOR,
    )
    taught = CourseRun.objects.filter(program=program, instructors=OuterRef("pk"))
    people = list(
        Person.objects.filter(Exists(taught)).annotate(shown=Exists(holds)).order_by("full_name")
    )
    page = reverse("program", args=[program.pk])
    if not people:
        text = "Nobody teaches a run of this version yet."
        yield Lacking("instructors", text, page, "See the program")
        return
    shown = sum(person.shown for person in people)
    if shown:
        text = f"A qualification that holds today is kept of {shown} of {len(people)} instructors."
        yield Held("instructors", text, page)
    if shown < len(people):
        named = ", ".join(str(person) for person in people if not person.shown)
        text = f"No qualification that holds today is kept of {named}. Enter the papers."
        yield Lacking("instructors", text, reverse("people"), "See people")


@fact_source
def materials(program: Program) -> Iterable[Fact]:
    """Files that modules are taught from (two queries)."""
    page = reverse("program", args=[program.pk])
    rows = list(Material.objects.filter(program=program).values_list("module_key", "uploaded_at"))
    if rows:
        newest = max(at for _, at in rows)
        text = (
            f"{counted(len(rows), 'file')} in versions with digests, the newest of "
            f"{timezone.localtime(newest):%d %b %Y}."
        )
        yield Held("materials", text, page)
    keys = Module.objects.filter(program=program).values_list("key", flat=True)
    without = sorted(set(keys) - {key for key, _ in rows})
    if without:
        text = f"No file is kept for {', '.join(without)}. Add what is taught from."
        yield Lacking("materials", text, page, "See the program")


@fact_source
def delivery(program: Program) -> Iterable[Fact]:
    """Sessions held and presence noted (two queries)."""
    now = timezone.now()
    noted = Attendance.objects.filter(session=OuterRef("pk"))
    sessions = Session.objects.filter(
        run__program=program, state=Session.State.PLANNED, ends_at__lt=now
    )
    told = sessions.aggregate(held=Count("pk"), noted=Count("pk", filter=Exists(noted)))
    runs = CourseRun.objects.filter(program=program, ends_on__lt=timezone.localdate())
    held = Session.objects.filter(run=OuterRef("pk"), state=Session.State.PLANNED)
    bare = list(runs.filter(~Exists(held)).select_related("site").order_by("starts_on"))
    page = reverse("program", args=[program.pk])
    if told["held"]:
        text = f"{counted(told['held'], 'session')} held, presence noted in {told['noted']}."
        yield Held("delivery", text, page)
    if told["noted"] < told["held"]:
        count = counted(told["held"] - told["noted"], "session")
        text = f"Nobody's presence is noted in {count}. Enter it from the sign-in sheets."
        yield Lacking("delivery", text, page, "See the runs")
    for run in bare:
        text = f"{run.site}, {run.starts_on:%d %b %Y}: no session is in the calendar."
        yield Lacking("delivery", text, reverse("run", args=[run.pk]), "See the run")
    if not told["held"] and not bare:
        text = "No session was held yet."
        yield Lacking("delivery", text, page, "See the program")


@fact_source
def kept(program: Program) -> Iterable[Fact]:
    """The log, consents and erasures (four queries)."""
    entries = LogEntry.objects.count()
    text = (
        f"{counted(entries, 'action')} stand in a log that only grows; each entry carries the "
        "digest of the one before it. Observations, decisions and records are never deleted."
    )
    yield Held("retention", text)
    yield Lacking("retention", "The rule for copies and backups is kept outside this system.")
    trainees = Enrolment.objects.filter(run__program=program, state=Enrolment.State.ENROLLED)
    people = set(trainees.values_list("person", flat=True))
    asked = set(
        Consent.objects.filter(provider=program.provider_id, person__in=people).values_list(
            "person", flat=True
        )
    )
    erased = Erasure.objects.filter(person__in=people).count()
    if asked or erased:
        yield Held(
            "privacy",
            f"{len(asked)} of {counted(len(people), 'trainee')} said what may be shown of them; "
            f"{counted(erased, 'person', 'people')} erased.",
        )
    if people - asked:
        count = counted(len(people - asked), "trainee")
        yield Lacking("privacy", f"{count} never asked about name and photographs. Ask them.")
    elif not people:
        yield Lacking("privacy", "Nobody is enrolled yet, so nobody was asked for a consent.")

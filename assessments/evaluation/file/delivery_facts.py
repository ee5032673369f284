"""What runs tell: instructors' papers, materials, sessions, presence, consents."""

from collections.abc import Iterable

from django.db.models import Count, Exists, OuterRef, Q
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from assessments.evaluation.file.facts import Fact, Held, Lacking, fact_source
from training.dates import day_text
from training.models import (
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
        text = _("Nobody teaches a run of this version yet.")
        yield Lacking("instructors", text, page, _("See the program"))
        return
    shown = sum(person.shown for person in people)
    if shown:
        text = _(
            "A qualification that holds today is kept of {shown} of {people_count} instructors."
        ).format(shown=shown, people_count=len(people))
        yield Held("instructors", text, page)
    for person in people:
        if not person.shown:
            text = _(
                "No qualification that holds today is kept of {person}. Enter the paper."
            ).format(person=person)
            add = reverse("document_new", args=[person.pk])
            yield Lacking("instructors", text, add, _("Enter it"))


@fact_source
def materials(program: Program) -> Iterable[Fact]:
    """Files that modules are taught from (two queries)."""
    page = reverse("program", args=[program.pk])
    rows = list(Material.objects.filter(program=program).values_list("module_key", "uploaded_at"))
    if rows:
        newest = max(at for _unused, at in rows)
        text = ngettext(
            "{count} file in versions with digests, the newest of {day}.",
            "{count} files in versions with digests, the newest of {day}.",
            len(rows),
        ).format(count=len(rows), day=day_text(timezone.localtime(newest)))
        yield Held("materials", text, page)
    keys = set(Module.objects.filter(program=program).values_list("key", flat=True))
    add = reverse("material_new", args=[program.pk])
    if not keys:
        text = _("No module is written yet, so nothing that it is taught from.")
        yield Lacking("materials", text, page, _("See the program"))
    without = sorted(keys - {key for key, _unused in rows})
    if without:
        text = _("No file is kept for {without}. Add what is taught from.").format(
            without=", ".join(without)
        )
        yield Lacking("materials", text, add, _("Add a file"))


@fact_source
def delivery(program: Program) -> Iterable[Fact]:
    """Sessions held and presence noted, of runs that have begun (one query)."""
    past = Q(sessions__state=Session.State.PLANNED, sessions__ends_at__lt=timezone.now())
    noted = past & Q(sessions__attendance__isnull=False)
    runs = list(
        CourseRun.objects.filter(program=program, starts_on__lte=timezone.localdate())
        .annotate(
            held=Count("sessions", filter=past, distinct=True),
            noted=Count("sessions", filter=noted, distinct=True),
        )
        .select_related("site")
        .order_by("starts_on", "pk")
    )
    held, told = (sum(getattr(run, name) for run in runs) for name in ("held", "noted"))
    if held:
        text = ngettext(
            "{count} session held, presence noted in {told}.",
            "{count} sessions held, presence noted in {told}.",
            held,
        ).format(count=held, told=told)
        yield Held("delivery", text, reverse("program", args=[program.pk]))
    for run in runs:
        name = f"{run.site}, {day_text(run.starts_on)}"
        if not run.held:
            text = _(
                "{name}: no session is in the calendar up to now. Enter those that were held."
            ).format(name=name)
            yield Lacking("delivery", text, reverse("run_calendar", args=[run.pk]), _("Enter them"))
        elif run.noted < run.held:
            lack = run.held - run.noted
            text = ngettext(
                "{name}: nobody's presence is noted in {count} session. Enter it from the sheets.",
                "{name}: nobody's presence is noted in {count} sessions. Enter it from the sheets.",
                lack,
            ).format(name=name, count=lack)
            yield Lacking("delivery", text, reverse("run_hours", args=[run.pk]), _("Enter it"))
    if not runs:
        text = _("No run has begun yet.")
        page = reverse("program", args=[program.pk])
        yield Lacking("delivery", text, page, _("See the program"))


@fact_source
def kept(program: Program) -> Iterable[Fact]:
    """The log, consents and erasures (four queries)."""
    entries = LogEntry.objects.count()
    text = ngettext(
        "{count} action stand in a log that only grows; each entry carries the digest of the one "
        "before it. Observations, decisions and records are never deleted.",
        "{count} actions stand in a log that only grows; each entry carries the digest of the one "
        "before it. Observations, decisions and records are never deleted.",
        entries,
    ).format(count=entries)
    yield Held("retention", text)
    yield Lacking("retention", _("The rule for copies and backups is kept outside this system."))
    trainees = Enrolment.objects.filter(run__program=program, state=Enrolment.State.ENROLLED)
    people = set(trainees.values_list("person", flat=True))
    asked = set(
        Consent.objects.filter(provider=program.provider_id, person__in=people).values_list(
            "person", flat=True
        )
    )
    erased = Erasure.objects.filter(person__in=people).count()
    if asked or erased:
        said = ngettext(
            "{asked} of {count} trainee said what may be shown of them; {gone}.",
            "{asked} of {count} trainees said what may be shown of them; {gone}.",
            len(people),
        )
        gone = ngettext("{count} person erased", "{count} people erased", erased)
        yield Held(
            "privacy",
            said.format(asked=len(asked), count=len(people), gone=gone.format(count=erased)),
        )
    if people - asked:
        count = len(people - asked)
        text = ngettext(
            "{count} trainee has not said yet whether name and picture may be shown. Ask them.",
            "{count} trainees have not said yet whether name and picture may be shown. Ask them.",
            count,
        ).format(count=count)
        yield Lacking("privacy", text)
    elif not people:
        yield Lacking("privacy", _("Nobody is enrolled yet, so nobody was asked for a consent."))

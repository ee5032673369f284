"""What a person should do next. Apps above register what they know about it.

A source is a function of the person and the roles held; it returns its entries in a constant
number of queries. Entries are told in the order in which the sources were registered.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Exists, OuterRef, Q
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from training.dates import day_text
from training.models import CourseRun, Enrolment, Person, Role
from training.queries.employment import waiting_offers
from training.queries.programs import latest_led
from training.queries.scope import provider_organisations, runs_visible_to


@dataclass(frozen=True)
class Todo:
    """One thing to do: a sentence, a detail below it, and the page to do it on."""

    title: str
    detail: str
    url: str
    label: str


Source = Callable[[Person, frozenset[str]], Iterable[Todo]]
_sources: list[Source] = []


def todo_source(source: Source) -> Source:
    """Register ``source`` once; usable as a decorator."""
    if source not in _sources:
        _sources.append(source)
    return source


def todos_of(person: Person, roles: frozenset[str]) -> list[Todo]:
    """Return what every source has for ``person``."""
    return [todo for source in _sources for todo in source(person, roles)]


@todo_source
def runs_to_care_for(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a lead which runs wait for the next step, an instructor what is on today."""
    if not roles & {Role.Kind.LEAD, Role.Kind.INSTRUCTOR}:
        return
    today = timezone.localdate()
    led = provider_organisations(person)
    runs = (
        runs_visible_to(person)
        .exclude(state=CourseRun.State.CLOSED)
        .select_related("program", "site")
        .annotate(
            enrolled=Count("enrolments", filter=Q(enrolments__state=Enrolment.State.ENROLLED)),
            taught=Exists(
                CourseRun.instructors.through.objects.filter(
                    courserun=OuterRef("pk"), person=person
                )
            ),
            led=Exists(led.filter(pk=OuterRef("program__provider"))),
        )
        .order_by("starts_on", "id")
    )
    for run in runs:
        yield from _about(run, run.led, run.taught, run.enrolled, today)


@todo_source
def programs_to_run(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a lead that a program has never been run."""
    if Role.Kind.LEAD not in roles:
        return
    runs = CourseRun.objects.filter(program=OuterRef("pk"))
    for program in latest_led(person).filter(~Exists(runs)):
        yield Todo(
            _("Plan a run of {title}").format(title=program.title),
            _("{code}, version {version}, has not been run yet.").format(
                code=program.code, version=program.version
            ),
            f"{reverse('run_new')}?program={program.pk}",
            _("Plan a run"),
        )


@todo_source
def offers_to_answer(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a mason which contractors wait for an answer (one query)."""
    for offer in waiting_offers(person):
        yield Todo(
            _("{organisation} asks you to join its crew").format(organisation=offer.organisation),
            _("From {since} on. Only your answer lets it see your records.").format(
                since=day_text(offer.since)
            ),
            reverse("offer_answer", args=[offer.pk]),
            _("Read and answer"),
        )


def _about(run: CourseRun, led: bool, taught: bool, enrolled: int, today: date) -> Iterable[Todo]:
    page = reverse("run", args=[run.pk])
    days = _("{site}, {starts_on} to {ends_on}").format(
        site=run.site, starts_on=day_text(run.starts_on), ends_on=day_text(run.ends_on)
    )
    title = run.program.title
    if led and not enrolled:
        yield Todo(
            _("Enrol trainees on {title}").format(title=title),
            _("{days}. Nobody is enrolled yet.").format(days=days),
            reverse("run_enrol_file", args=[run.pk]),
            _("Enrol trainees"),
        )
    if led and run.state == CourseRun.State.PLANNED and run.starts_on <= today:
        yield Todo(
            _("Open {title}").format(title=title),
            _("{days}. It has begun and is still planned.").format(days=days),
            page,
            _("See the run"),
        )
    if led and run.state == CourseRun.State.OPEN and run.ends_on < today:
        yield Todo(
            _("Close {title}").format(title=title),
            _("{days}. Its last day is over.").format(days=days),
            page,
            _("See the run"),
        )
    if taught and run.state == CourseRun.State.OPEN and run.starts_on <= today <= run.ends_on:
        number = ngettext("{count} trainee", "{count} trainees", enrolled).format(count=enrolled)
        yield Todo(
            _("Today: {title}").format(title=title), f"{days}. {number}.", page, _("Score trainees")
        )

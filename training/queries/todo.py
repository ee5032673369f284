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
            f"Plan a run of {program.title}",
            f"{program.code}, version {program.version}, has not been run yet.",
            f"{reverse('run_new')}?program={program.pk}",
            "Plan a run",
        )


@todo_source
def offers_to_answer(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a mason which contractors wait for an answer (one query)."""
    for offer in waiting_offers(person):
        yield Todo(
            f"{offer.organisation} asks you to join its crew",
            f"From {offer.since:%d %b %Y} on. Only your answer lets it see your records.",
            reverse("offer_answer", args=[offer.pk]),
            "Read and answer",
        )


def _about(run: CourseRun, led: bool, taught: bool, enrolled: int, today: date) -> Iterable[Todo]:
    page = reverse("run", args=[run.pk])
    days = f"{run.site}, {run.starts_on:%d %b %Y} to {run.ends_on:%d %b %Y}"
    title = run.program.title
    if led and not enrolled:
        yield Todo(
            f"Enrol trainees on {title}",
            f"{days}. Nobody is enrolled yet.",
            reverse("run_enrol_file", args=[run.pk]),
            "Enrol trainees",
        )
    if led and run.state == CourseRun.State.PLANNED and run.starts_on <= today:
        yield Todo(
            f"Open {title}", f"{days}. It has begun and is still planned.", page, "See the run"
        )
    if led and run.state == CourseRun.State.OPEN and run.ends_on < today:
        yield Todo(f"Close {title}", f"{days}. Its last day is over.", page, "See the run")
    if taught and run.state == CourseRun.State.OPEN and run.starts_on <= today <= run.ends_on:
        number = "1 trainee" if enrolled == 1 else f"{enrolled} trainees"
        yield Todo(f"Today: {title}", f"{days}. {number}.", page, "Score trainees")

"""Who of a run has shown which paper, and whose papers are missing soon."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Prefetch
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from training.dates import day_text
from training.models import CourseRun, Enrolment, Person, ProgramPrerequisite, Role
from training.queries.fit import Papers, Standing, day_of_judging, papers_of, stand
from training.queries.scope import provider_organisations
from training.queries.todo import Todo, todo_source

SOON = timedelta(days=14)
HERE = (Enrolment.State.ENROLLED, Enrolment.State.WAITING)


@dataclass(frozen=True)
class FitRow:
    """A trainee of a run beside each prerequisite of its program."""

    enrolment: Enrolment
    standings: Sequence[Standing]

    @property
    def fits(self) -> bool:
        """Whether every prerequisite is met on the day."""
        return all(each.fits for each in self.standings)


@dataclass(frozen=True)
class FitMatrix:
    """The papers of a run as of ``on``: today at the site, or its first day if that is later."""

    run: CourseRun
    on: date
    prerequisites: Sequence[ProgramPrerequisite]
    rows: Sequence[FitRow]

    @property
    def unfit(self) -> int:
        """How many enrolled trainees lack something."""
        enrolled = Enrolment.State.ENROLLED
        return sum(not row.fits and row.enrolment.state == enrolled for row in self.rows)


def fit_matrix(run: CourseRun) -> FitMatrix:
    """Return the papers of everybody enrolled or waiting, by name (three queries)."""
    on = day_of_judging(run)
    prerequisites = list(run.program.prerequisites.all())
    enrolments = list(
        run.enrolments.filter(state__in=HERE)
        .select_related("person")
        .order_by("person__full_name", "pk")
    )
    return FitMatrix(run, on, prerequisites, _rows(run, prerequisites, enrolments))


def own_fit(person: Person) -> list[tuple[CourseRun, FitRow]]:
    """Return the runs that ``person`` is or may come to be on, with the own papers (three queries).

    Closed runs and programs that ask for nothing are left out.
    """
    places = list(
        Enrolment.objects.filter(
            person=person, state__in=HERE, run__program__prerequisites__isnull=False
        )
        .exclude(run__state=CourseRun.State.CLOSED)
        .distinct()
        .select_related("run__program", "run__site")
        .prefetch_related("run__program__prerequisites")
        .order_by("run__starts_on", "pk")
    )
    wanted = {place.pk: list(place.run.program.prerequisites.all()) for place in places}
    papers = papers_of(
        [person.pk],
        {place.run.program.provider_id for place in places},
        (each.key for asked in wanted.values() for each in asked),
    )
    return [
        (
            place.run,
            FitRow(place, _standings(papers, place, place.run, wanted[place.pk])),
        )
        for place in places
    ]


@todo_source
def papers_to_bring(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a lead of runs that start within two weeks, or go on, with papers missing.

    Four queries, whatever the number of runs; the papers of all runs are read at once.
    """
    if Role.Kind.LEAD not in roles:
        return
    today = timezone.localdate()
    enrolled = Enrolment.objects.filter(state=Enrolment.State.ENROLLED).order_by("pk")
    runs = list(
        CourseRun.objects.exclude(state=CourseRun.State.CLOSED)
        .filter(
            program__provider__in=provider_organisations(person).order_by(),
            program__prerequisites__isnull=False,
            starts_on__lte=today + SOON,
            ends_on__gte=today,
        )
        .distinct()
        .select_related("program", "site")
        .prefetch_related("program__prerequisites", Prefetch("enrolments", enrolled))
        .order_by("starts_on", "pk")
    )
    papers = papers_of(
        (place.person_id for run in runs for place in run.enrolments.all()),
        {run.program.provider_id for run in runs},
        (each.key for run in runs for each in run.program.prerequisites.all()),
    )
    for run in runs:
        wanted = list(run.program.prerequisites.all())
        lacking = sum(
            not FitRow(place, _standings(papers, place, run, wanted)).fits
            for place in run.enrolments.all()
        )
        if lacking:
            yield _todo(run, lacking)


def _rows(
    run: CourseRun,
    prerequisites: Sequence[ProgramPrerequisite],
    enrolments: Sequence[Enrolment],
) -> list[FitRow]:
    papers = papers_of(
        (each.person_id for each in enrolments),
        [run.program.provider_id],
        (each.key for each in prerequisites),
    )
    return [FitRow(each, _standings(papers, each, run, prerequisites)) for each in enrolments]


def _standings(
    papers: Papers,
    enrolment: Enrolment,
    run: CourseRun,
    prerequisites: Sequence[ProgramPrerequisite],
) -> list[Standing]:
    on, provider = day_of_judging(run), run.program.provider_id
    return [
        stand(papers, enrolment.person_id, provider, each, on, run.ends_on)
        for each in prerequisites
    ]


def _todo(run: CourseRun, lacking: int) -> Todo:
    people = ngettext(
        "1 trainee has papers missing or lapsed.",
        "{count} trainees have papers missing or lapsed.",
        lacking,
    ).format(count=lacking)
    return Todo(
        _("Ask for papers: {title}").format(title=run.program.title),
        _("{site}, from {starts_on}. {people}").format(
            site=run.site, starts_on=day_text(run.starts_on), people=people
        ),
        reverse("run_papers", args=[run.pk]),
        _("See who lacks what"),
    )

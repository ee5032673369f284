"""Programs as lists and their own page show them."""

from django.db.models import (
    Count,
    Exists,
    IntegerField,
    OuterRef,
    Prefetch,
    QuerySet,
    Subquery,
    Sum,
)

from training.models import CourseRun, Module, Outcome, Person, Program
from training.queries.scope import programs_visible_to, provider_organisations, runs_visible_to


def program_rows(person: Person) -> QuerySet[Program]:
    """Return the visible programs with ``minutes`` taught and ``outcome_count`` (one query)."""
    minutes = (
        Module.objects.filter(program=OuterRef("pk"))
        .order_by()
        .values("program")
        .annotate(total=Sum("minutes"))
        .values("total")
    )
    return (
        programs_visible_to(person)
        .select_related("provider")
        .annotate(
            minutes=Subquery(minutes, output_field=IntegerField()),
            outcome_count=Count("outcomes"),
        )
        .order_by("code", "-version")
    )


def latest_led(person: Person) -> QuerySet[Program]:
    """Return the latest version of each program of the providers that ``person`` leads."""
    newer = Program.objects.filter(
        provider=OuterRef("provider"), code=OuterRef("code"), version__gt=OuterRef("version")
    )
    return Program.objects.filter(~Exists(newer), provider__in=provider_organisations(person))


def with_parts(programs: QuerySet[Program]) -> QuerySet[Program]:
    """Return ``programs`` with modules, the outcomes of each, outcomes, and what to bring
    (five queries)."""
    return programs.prefetch_related(
        Prefetch("modules", Module.objects.prefetch_related("outcomes")),
        Prefetch("outcomes", Outcome.objects.prefetch_related("modules")),
        "prerequisites",
    )


def runs_of(program: Program, person: Person) -> QuerySet[CourseRun]:
    """Return the runs of ``program`` that ``person`` sees."""
    return runs_visible_to(person).filter(program=program).select_related("program", "site")

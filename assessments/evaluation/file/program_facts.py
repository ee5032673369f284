"""What the program itself tells: its plan, outcomes, teaching, versions, and who answers for it."""

from collections.abc import Iterable

from django.db.models import Count
from django.urls import reverse

from assessments.evaluation.file.facts import Fact, Held, Lacking, fact_source
from assessments.evaluation.sections.words import counted
from training.models import Module, Outcome, Program, ProgramPrerequisite, Role
from training.queries.changes import versions_of

FILE = "Write it in the program's file and load the next version."
SEE = "See the program"


@fact_source
def organisation(program: Program) -> Iterable[Fact]:
    """Who answers for the program (one query)."""
    roles = Role.objects.filter(organisation=program.provider_id)
    kinds = list(roles.values_list("kind", flat=True))
    leads, teachers = kinds.count(Role.Kind.LEAD), kinds.count(Role.Kind.INSTRUCTOR)
    people = reverse("people")
    if leads:
        yield Held(
            "organisation",
            f"{program.provider} answers for the program: {counted(leads, 'training lead')}, "
            f"{counted(teachers, 'instructor')}. Every action names who did it.",
            people,
        )
    if leads < 2:
        yield Lacking(
            "organisation",
            "There is no second training lead, who could stand in and answer what the first one "
            "is complained of.",
            people,
            "Give the role",
        )
    yield Lacking(
        "organisation", "Legal form, insurance and finances are kept outside this system."
    )


@fact_source
def plan(program: Program) -> Iterable[Fact]:
    """The needs, purpose and scope (no query)."""
    page = reverse("program", args=[program.pk])
    for subject, title, text in (
        ("needs", "The needs analysis", program.needs),
        ("plan", "The purpose", program.purpose),
        ("plan", "The scope", program.scope),
    ):
        if text.strip():
            yield Held(subject, f"{title} is written: {_short(text)}", page)
        else:
            yield Lacking(subject, f"{title} is not written. {FILE}", page, SEE)


@fact_source
def outcomes_and_modules(program: Program) -> Iterable[Fact]:
    """Outcomes, modules, and whether each outcome is taught (two queries)."""
    page, coverage = (reverse(name, args=[program.pk]) for name in ("program", "program_coverage"))
    outcomes = list(Outcome.objects.filter(program=program).annotate(taught=Count("modules")))
    modules = list(Module.objects.filter(program=program))
    if outcomes:
        with_minimum = sum(bool(each.minimum) for each in outcomes)
        yield Held(
            "outcomes",
            f"{counted(len(outcomes), 'outcome')}, {with_minimum} with a minimum of its own.",
            coverage,
        )
    else:
        yield Lacking("outcomes", f"No outcome is written. {FILE}", page, SEE)
    if not modules:
        yield Lacking("design", f"No module is written. {FILE}", page, SEE)
        return
    kinds = {kind.label.lower() for kind in Module.Kind if any(m.kind == kind for m in modules)}
    minutes = sum(module.minutes for module in modules)
    yield Held("plan", f"{counted(len(modules), 'module')}, {minutes} minutes together.", page)
    yield Held("design", f"Taught by {', '.join(sorted(kinds))}.", page)
    untaught = [each.key for each in outcomes if not each.taught]
    if untaught:
        text = f"No module serves {', '.join(untaught)}. {FILE}"
        yield Lacking("design", text, coverage, "See the coverage")
    elif not outcomes:
        text = f"No outcome is written that the teaching could serve. {FILE}"
        yield Lacking("design", text, page, SEE)
    else:
        yield Held("design", "Every outcome is served by a module.", coverage)


@fact_source
def prerequisites(program: Program) -> Iterable[Fact]:
    """What a person has to bring (one query)."""
    page = reverse("program", args=[program.pk])
    count = ProgramPrerequisite.objects.filter(program=program).count()
    if count:
        text = (
            f"{counted(count, 'prerequisite')} with what is accepted and its source. No attempt "
            "starts while a paper that it needs is missing or has lapsed."
        )
        yield Held("prerequisites", text, page)
    else:
        yield Lacking(
            "prerequisites",
            f"None is written. Where nothing is asked for, the scope should say so. {FILE}",
            page,
            SEE,
        )


@fact_source
def versions(program: Program) -> Iterable[Fact]:
    """The versions and what changed (one query)."""
    page = reverse("program_versions", args=[program.pk])
    rows = list(versions_of(program).values_list("version", "changes"))
    yield Held(
        "versions",
        f"{counted(len(rows), 'version')} kept; this is version {program.version}. A sealed "
        "standard never changes: a change is a new version.",
        page,
    )
    silent = sorted(version for version, changes in rows if version > 1 and not changes.strip())
    if silent:
        named = ", ".join(str(version) for version in silent)
        text = f"What changed is not written in version {named}. {FILE}"
        yield Lacking("versions", text, page, "See the versions")


def _short(text: str, longest: int = 120) -> str:
    words = " ".join(text.split())
    return words if len(words) <= longest else f"{words[:longest].rsplit(' ', 1)[0]} …"

"""What the program itself tells: its plan, outcomes, teaching, versions, and who answers for it."""

from collections.abc import Iterable

from django.db.models import Count
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_
from django.utils.translation import ngettext

from assessments.evaluation.file.facts import Fact, Held, Lacking, fact_source
from training.models import Module, Outcome, Program, ProgramPrerequisite, Role
from training.queries.changes import versions_of

FILE = N_("Write it in the program's file and load the next version.")
SEE = N_("See the program")


@fact_source
def organisation(program: Program) -> Iterable[Fact]:
    """Who answers for the program (one query)."""
    roles = Role.objects.filter(organisation=program.provider_id)
    kinds = list(roles.values_list("kind", flat=True))
    leads, teachers = kinds.count(Role.Kind.LEAD), kinds.count(Role.Kind.INSTRUCTOR)
    people = reverse("people")
    if leads:
        first = ngettext("{count} training lead", "{count} training leads", leads)
        second = ngettext("{count} instructor", "{count} instructors", teachers)
        text = _(
            "{provider} answers for the program: {leads}, {instructors}. Every action names who "
            "did it."
        ).format(
            provider=program.provider,
            leads=first.format(count=leads),
            instructors=second.format(count=teachers),
        )
        yield Held("organisation", text, people)
    if leads < 2:
        yield Lacking(
            "organisation",
            _(
                "There is no second training lead, who could stand in and answer what the first "
                "one is complained of."
            ),
            people,
            _("Give the role"),
        )
    yield Lacking(
        "organisation", _("Legal form, insurance and finances are kept outside this system.")
    )


@fact_source
def plan(program: Program) -> Iterable[Fact]:
    """The needs, purpose and scope (no query)."""
    page = reverse("program", args=[program.pk])
    for subject, title, text in (
        ("needs", _("The needs analysis"), program.needs),
        ("plan", _("The purpose"), program.purpose),
        ("plan", _("The scope"), program.scope),
    ):
        if text.strip():
            yield Held(
                subject,
                _("{title} is written: {short}").format(title=title, short=_short(text)),
                page,
            )
        else:
            yield Lacking(
                subject,
                _("{title} is not written. {file}").format(title=title, file=_(FILE)),
                page,
                _(SEE),
            )


@fact_source
def outcomes_and_modules(program: Program) -> Iterable[Fact]:
    """Outcomes, modules, and whether each outcome is taught (two queries)."""
    page, coverage = (reverse(name, args=[program.pk]) for name in ("program", "program_coverage"))
    outcomes = list(Outcome.objects.filter(program=program).annotate(taught=Count("modules")))
    modules = list(Module.objects.filter(program=program))
    if outcomes:
        with_minimum = sum(bool(each.minimum) for each in outcomes)
        text = ngettext(
            "{count} outcome, {with_minimum} with a minimum of its own.",
            "{count} outcomes, {with_minimum} with a minimum of its own.",
            len(outcomes),
        ).format(count=len(outcomes), with_minimum=with_minimum)
        yield Held("outcomes", text, coverage)
    else:
        yield Lacking(
            "outcomes", _("No outcome is written. {file}").format(file=_(FILE)), page, _(SEE)
        )
    if not modules:
        yield Lacking(
            "design", _("No module is written. {file}").format(file=_(FILE)), page, _(SEE)
        )
        return
    kinds = {
        str(kind.label).lower() for kind in Module.Kind if any(m.kind == kind for m in modules)
    }
    minutes = sum(module.minutes for module in modules)
    text = ngettext(
        "{count} module, {minutes} minutes together.",
        "{count} modules, {minutes} minutes together.",
        len(modules),
    )
    yield Held("plan", text.format(count=len(modules), minutes=minutes), page)
    yield Held("design", _("Taught by {kinds}.").format(kinds=", ".join(sorted(kinds))), page)
    untaught = [each.key for each in outcomes if not each.taught]
    if untaught:
        text = _("No module serves {untaught}. {file}").format(
            untaught=", ".join(untaught), file=_(FILE)
        )
        yield Lacking("design", text, coverage, _("See the coverage"))
    elif not outcomes:
        text = _("No outcome is written that the teaching could serve. {file}").format(file=_(FILE))
        yield Lacking("design", text, page, _(SEE))
    else:
        yield Held("design", _("Every outcome is served by a module."), coverage)


@fact_source
def prerequisites(program: Program) -> Iterable[Fact]:
    """What a person has to bring (one query)."""
    page = reverse("program", args=[program.pk])
    count = ProgramPrerequisite.objects.filter(program=program).count()
    if count:
        text = ngettext(
            "{count} prerequisite with what is accepted and its source. No attempt starts while a "
            "paper that it needs is missing or has lapsed.",
            "{count} prerequisites with what is accepted and its source. No attempt starts while "
            "a paper that it needs is missing or has lapsed.",
            count,
        ).format(count=count)
        yield Held("prerequisites", text, page)
    else:
        yield Lacking(
            "prerequisites",
            _(
                "None is written. Where nothing is asked for, the scope should say so. {file}"
            ).format(file=_(FILE)),
            page,
            _(SEE),
        )


@fact_source
def versions(program: Program) -> Iterable[Fact]:
    """The versions and what changed (one query)."""
    page = reverse("program_versions", args=[program.pk])
    rows = list(versions_of(program).values_list("version", "changes"))
    text = ngettext(
        "{count} version kept; this is version {version}. A sealed standard never changes: a "
        "change is a new version.",
        "{count} versions kept; this is version {version}. A sealed standard never changes: a "
        "change is a new version.",
        len(rows),
    )
    yield Held("versions", text.format(count=len(rows), version=program.version), page)
    silent = sorted(version for version, changes in rows if version > 1 and not changes.strip())
    if silent:
        named = ", ".join(str(version) for version in silent)
        text = _("What changed is not written in version {named}. {file}").format(
            named=named, file=_(FILE)
        )
        yield Lacking("versions", text, page, _("See the versions"))


def _short(text: str, longest: int = 120) -> str:
    words = " ".join(text.split())
    return words if len(words) <= longest else f"{words[:longest].rsplit(' ', 1)[0]} …"

"""The list of programs, and the page of one."""

import uuid

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from training.models import Program, Role
from training.queries.materials import minutes_by_kind, shelves_of, teachers_of
from training.queries.programs import program_rows, runs_of, with_parts
from training.queries.scope import is_lead, roles_of
from training.views.who import person_of


@require_safe
def program_list(request: HttpRequest) -> HttpResponse:
    """Show the programs that the person leads, teaches or follows."""
    person = person_of(request)
    return render(
        request,
        "training/program_list.html",
        {"programs": program_rows(person), "leads": Role.Kind.LEAD in roles_of(person)},
    )


@require_safe
def program(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show what a program teaches: modules, outcomes, and which serves which."""
    person = person_of(request)
    found = get_object_or_404(with_parts(program_rows(person)), pk=pk)
    runs = list(runs_of(found, person))
    leads = is_lead(person, found.provider)
    assesses = leads or bool(runs)
    context = {
        "program": found,
        "runs": runs,
        "leads": leads,
        "assesses": assesses,
        "teachers": teachers_of(found) if assesses else [],
        **_taught(found),
    }
    return render(request, "training/program.html", context)


def _taught(program: Program) -> dict[str, object]:
    """Return the modules with what they are taught from, and the minutes of each way to teach.

    Materials of a module that the program has no longer stand by themselves.
    """
    modules, shelves = list(program.modules.all()), shelves_of(program)
    return {
        "modules": [(module, shelves.pop(module.key, [])) for module in modules],
        "left_over": shelves,
        "totals": minutes_by_kind(modules),
    }

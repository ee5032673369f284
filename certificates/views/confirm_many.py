"""Confirming the work of many at once: all whose confirmation is due."""

from typing import NamedTuple
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_
from django.utils.translation import ngettext
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from certificates.actions.continuity import RowsRefused, confirm_many
from certificates.forms.continuity import ConfirmForm
from certificates.models import Confirmation, Record
from certificates.queries.continuity import confirmations_due, confirmations_signed_for
from certificates.queries.qualified import Held, held_records, told_tone, tone_of
from certificates.queries.statements import seal_of, sentence
from training.models import Person
from training.queries.scope import contractor_organisations, crew_visible_to
from training.views.refusals import act
from training.views.sent import sent
from training.views.who import person_of

SHOWN = 200
SIGNED_SHOWN = 25
GONE = N_(
    "A record that you ticked is not among those of your crew any more, so nothing was signed. "
    "Look at what is ticked now, then read the statement again."
)


class Row(NamedTuple):
    """A record in the table: whether it is ticked, and what is wrong with it."""

    held: Held
    status: tuple[str, str, str]
    ticked: bool
    error: str


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def confirm_many_page(request: HttpRequest) -> HttpResponse:
    """Tick records, write one day and one project for them, read the statements, and sign."""
    manager = person_of(request)
    managed = list(contractor_organisations(manager))
    if not managed:
        raise PermissionDenied(_("Only a contractor's manager confirms work."))
    form = ConfirmForm(sent(request), organisations=managed)
    ticked = set(request.POST.getlist("record"))
    errors: dict[UUID, str] = {}
    statements: list[str] = []
    if request.method == "POST" and form.is_valid():
        signed, statements, errors = _asked(request, manager, form, ticked)
        if signed:
            told = ngettext(
                "{count} confirmation signed.", "{count} confirmations signed.", len(signed)
            )
            messages.success(request, told.format(count=len(signed)))
            return redirect("confirm_many")
    due, total = confirmations_due(manager, SHOWN)
    wrong = bool(form.errors or errors)
    return render(
        request,
        "certificates/crew/continuity/many.html",
        {
            "form": form,
            "rows": _rows(manager, due, ticked, errors),
            "total": total,
            "shown": SHOWN,
            "row_errors": errors,
            "statements": [] if wrong else statements,
            "sign": seal_of(statements),
            "signed": confirmations_signed_for(manager)[:SIGNED_SHOWN],
        },
        status=422 if wrong else 200,
    )


def _asked(
    request: HttpRequest, manager: Person, form: ConfirmForm, ticked: set[str]
) -> tuple[list[Confirmation], list[str], dict[UUID, str]]:
    """Sign what was shown, or tell what would be signed; return (signed, statements, errors).

    Trying is the very action, undone: what is shown is what signing will do.
    """
    records = _records(manager, ticked)
    if len(records) < len(ticked):
        form.add_error(None, _(GONE))
        return [], [], {}
    try:
        with transaction.atomic():
            done = act(form, confirm_many, actor=manager, records=records, **form.cleaned_data)
            statements = _statements(done or [])
            if request.POST.get("sign") == seal_of(statements):
                return done or [], statements, {}
            transaction.set_rollback(True)
            return [], statements, {}
    except RowsRefused as refused:
        return [], [], dict(refused.errors)


def _records(manager: Person, ticked: set[str]) -> list[Record]:
    numbers = [number for number in ticked if len(number) < 40 and "\x00" not in number]
    crew = crew_visible_to(manager).order_by()
    return list(Record.objects.filter(number__in=numbers, holder__in=crew).defer("document"))


def _statements(done: list[Confirmation]) -> list[str]:
    found: list[str] = []
    for each in sorted(done, key=lambda one: (one.record.holder.full_name, one.record.number)):
        program = each.record.document["program"]["title"]
        found += sentence(
            organisation=each.organisation.name,
            holders=[(each.record.holder.full_name, each.record.number, program)],
            worked_on=each.worked_on,
            project_name=each.project_name,
            work=each.work,
        )
    return found


def _rows(manager: Person, due: list[Held], ticked: set[str], errors: dict[UUID, str]) -> list[Row]:
    """Return what is due, and what is ticked though it is due no longer."""
    listed = {each.number for each in due}
    others = [each.pk for each in _records(manager, ticked - listed)]
    more = held_records(others) if others else []
    return [
        Row(
            each,
            told_tone(tone_of(each.word)),
            each.number in ticked,
            errors.get(each.record_id, ""),
        )
        for each in [*due, *more]
    ]

"""Issuing a record, the list of records, and the signed PDFs of one."""

import uuid
from io import BytesIO

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from assessments.models import Decision
from assessments.queries.scope import attempts_visible_to
from certificates.actions.issue import issue_record
from certificates.actions.looks import note_account
from certificates.numbers import read_number
from certificates.queries.records import as_rows, record_rows
from certificates.queries.scope import records_visible_to
from certificates.rendering import CERTIFICATE, COMPETENCY, Kind
from certificates.stored import ErasedRecord, NotAsIssued, read_as_issued
from certificates.views.check import GONE
from training.queries.scope import TRAINEE, roles_of
from training.said import said
from training.views.refusals import act_or_say
from training.views.who import person_of

PAGE = 30
LONGEST_NAME = 200


@require_safe
def record_list(request: HttpRequest) -> HttpResponse:
    """Show the records that the person may see, and how each stands today."""
    person = person_of(request)
    holder = request.GET.get("holder", "").strip().replace("\0", "")[:LONGEST_NAME]
    page = Paginator(record_rows(person, holder), PAGE).get_page(request.GET.get("page"))
    query = request.GET.copy()
    query.pop("page", None)
    return render(
        request,
        "certificates/record_list.html",
        {
            "page": page,
            "rows": as_rows(list(page.object_list)),
            "holder": holder,
            "query": f"&{query.urlencode()}" if query else "",
            "of_others": bool(roles_of(person) - {TRAINEE}),
        },
    )


@require_POST
def record_issue(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Issue the record of a decision."""
    person = person_of(request)
    decisions = Decision.objects.filter(attempt__in=attempts_visible_to(person))
    decision = get_object_or_404(decisions.select_related("attempt__enrolment"), pk=pk)
    record = act_or_say(request, issue_record, actor=person, decision=decision)
    if record is not None:
        messages.success(
            request,
            _("Record {number} of {holder} is issued.").format(
                number=record.number, holder=record.holder
            ),
        )
    return redirect("run", decision.attempt.enrolment.run_id)


@require_safe
@never_cache
def record_pdf(request: HttpRequest, number: str, kind: Kind = CERTIFICATE) -> HttpResponseBase:
    """Send a signed PDF as it was issued, or say plainly that it cannot be sent."""
    try:
        meant = read_number(number)
    except ValueError as error:
        raise Http404(str(error)) from None
    records = records_visible_to(person_of(request)).select_related("provider")
    record = get_object_or_404(records, number=meant)
    if kind == COMPETENCY and not record.competency:
        raise Http404(_("This record was issued as one PDF with the competency record in it."))
    try:
        pdf = read_as_issued(record, kind)
    except NotAsIssued as missing:
        context: dict[str, object] = {"record": record, "reason": said(str(missing))}
        status = GONE if isinstance(missing, ErasedRecord) else 503
        context["erased"] = status == GONE
        return render(request, "certificates/record_unavailable.html", context, status=status)
    note_account(request=request, record=record, person=person_of(request))
    code = record.document["program"]["code"]
    name = kind if record.competency else "record"
    return FileResponse(
        BytesIO(pdf),
        as_attachment=True,
        filename=f"{code}-{name}-{record.number}.pdf",
        content_type="application/pdf",
    )

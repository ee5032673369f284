"""Correcting the name on a record."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from certificates.actions.status.correct import correct_record
from certificates.forms.status import CorrectForm
from certificates.views.status import Doing, doing_page, led_life, offered
from training.views.refusals import act
from training.views.sent import sent

CORRECT = Doing(
    _l("Correct the holder's name"),
    _l(
        "A new record with the right name is issued and takes the place of this one; it is "
        "valid to the same day. Nothing in this record is edited: whoever checks it is led to "
        "the new one. "
        "The holder gets an e-mail with the new number."
    ),
    _l("Issue the corrected record"),
    "",
)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def record_correct(request: HttpRequest, number: str) -> HttpResponse:
    """Issue a record with the right name in place of this one."""
    person, life = led_life(request, number)
    record = life.record
    if not offered(request, life, person, "record_correct"):
        return redirect("record", record.number)
    name = record.document.get("holder", {}).get("name", record.holder.full_name)
    form = CorrectForm(sent(request), seen=life.seen, holder_name=name)
    if request.method == "POST" and form.is_valid():
        made = act(form, correct_record, actor=person, record=record, **form.cleaned_data)
        if made is not None:
            messages.success(
                request,
                _("Record {number} takes the place of {earlier}.").format(
                    number=made.number, earlier=record.number
                ),
            )
            return redirect("record", made.number)
    return doing_page(request, person, life, CORRECT, form)

"""Telling the holder what became of a record."""

from django.conf import settings
from django.core.mail import send_mail
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from certificates.models import StatusChange
from training.reader import reading_as
from training.said import said

SUBJECTS = {
    StatusChange.Change.SUSPENDED: N_("Your record is suspended"),
    StatusChange.Change.RESTORED: N_("Your record holds again"),
    StatusChange.Change.WITHDRAWN: N_("Your record is withdrawn"),
}


def tell_change(change: StatusChange) -> None:
    """Send the holder one plain e-mail in the own language: what happened, why."""
    record = change.record
    document = record.document
    with reading_as(record.holder):
        text = render_to_string(
            "certificates/email/record_status.txt",
            {
                "change": change,
                "reason": said(change.reason),
                "holder": document.get("holder", {}).get("name") or record.holder.full_name,
                "number": record.number,
                "program": document["program"],
                "provider": record.provider,
                "record_url": f"{settings.BASE_URL}{reverse('record', args=[record.number])}",
            },
        )
        what = _(SUBJECTS[StatusChange.Change(change.change)])
    title = " ".join(str(document["program"]["title"]).split())
    send_mail(
        subject=f"{what}: {title}",
        message=text,
        from_email=None,
        recipient_list=[record.holder.email],
    )

"""Telling the holder what became of a record."""

from django.conf import settings
from django.core.mail import send_mail
from django.template.loader import render_to_string
from django.urls import reverse

from certificates.models import StatusChange

SUBJECTS = {
    StatusChange.Change.SUSPENDED: "Your record is suspended",
    StatusChange.Change.RESTORED: "Your record holds again",
    StatusChange.Change.WITHDRAWN: "Your record is withdrawn",
}


def tell_change(change: StatusChange) -> None:
    """Send the holder one plain e-mail: what happened, why, and what it means."""
    record = change.record
    document = record.document
    text = render_to_string(
        "certificates/email/record_status.txt",
        {
            "change": change,
            "holder": document.get("holder", {}).get("name") or record.holder.full_name,
            "number": record.number,
            "program": document["program"],
            "provider": record.provider,
            "record_url": f"{settings.BASE_URL}{reverse('record', args=[record.number])}",
        },
    )
    title = " ".join(str(document["program"]["title"]).split())
    send_mail(
        subject=f"{SUBJECTS[StatusChange.Change(change.change)]}: {title}",
        message=text,
        from_email=None,
        recipient_list=[record.holder.email],
    )

"""Telling the holder that a record was issued."""

from django.conf import settings
from django.core.mail import send_mail
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.translation import gettext as _

from certificates.models import Record
from training.reader import reading_as


def tell_holder(record: Record) -> None:
    """Send the holder one plain e-mail: where to fetch the record, and how others check it."""
    document = record.document
    with reading_as(record.holder):
        text = render_to_string(
            "certificates/email/record_issued.txt",
            {
                "record": document,
                "valid_until": record.valid_until,
                "records_url": f"{settings.BASE_URL}{reverse('record_list')}",
            },
        )
        subject = _("Your record: {title}").format(title=document["program"]["title"])
    send_mail(
        # A title with a line break in it would not do as a subject.
        subject=" ".join(subject.split()),
        message=text,
        from_email=None,
        recipient_list=[record.holder.email],
    )

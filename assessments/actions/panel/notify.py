"""Telling an invited judge where the seat is."""

from django.conf import settings
from django.core.mail import send_mail
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.translation import gettext as _

from assessments.models import Judge


def tell_judge(judge: Judge) -> None:
    """Send the judge one plain e-mail: what is asked, by whom, and where."""
    program = judge.panel.program
    text = render_to_string(
        "assessments/email/judge_invited.txt",
        {
            "judge": judge,
            "program": program,
            "knows_password": judge.person.has_usable_password(),
            "seat_url": f"{settings.BASE_URL}{reverse('judging_seat', args=[judge.pk])}",
        },
    )
    send_mail(
        # A title with a line break in it would not do as a subject.
        subject=" ".join(_("You are asked to judge: {title}").format(title=program.title).split()),
        message=text,
        from_email=None,
        recipient_list=[judge.person.email],
    )

"""Who is written to about a complaint: never whom it concerns."""

from email.utils import parseaddr
from functools import partial

from django.conf import settings
from django.core.mail import EmailMessage
from django.db import transaction
from django.template.loader import render_to_string
from django.utils import translation
from django.utils.translation import gettext as _

from training.letters import address, send_letter
from training.models import Complaint, Organisation
from training.queries.complaints import answerers_of

FOLDER = "training/evaluation/email"


def tell_of_complaint(complaint: Complaint) -> None:
    """Tell leads at once of a complaint about safety; where none may answer, who is outside."""
    answerers = list(answerers_of(complaint))
    if complaint.concerns_id is not None and not answerers:
        _tell_outside(complaint)
    if complaint.kind == Complaint.Kind.SAFETY:
        for lead in answerers:
            send_letter(
                lead,
                subject=lambda: _("A complaint about safety"),
                template=f"{FOLDER}/complaint_safety.txt",
                context=_about(complaint),
            )


def tell_of_answer(complaint: Complaint) -> None:
    """Tell whoever made it that a complaint was answered."""
    if complaint.made_by is not None:
        send_letter(
            complaint.made_by,
            subject=lambda: _("Your complaint is answered"),
            template=f"{FOLDER}/complaint_answered.txt",
            context=_about(complaint),
        )


def _tell_outside(complaint: Complaint) -> None:
    """Write to the outside contact, who has no account, in the language of the site."""
    # Read anew: a provider fetched earlier may hold another contact.
    name, to = parseaddr(Organisation.objects.get(pk=complaint.provider_id).outside_contact)
    if not to:
        return
    context = {**_about(complaint), "contact": name or to, "maker": complaint.made_by}
    with translation.override(settings.LANGUAGE_CODE):
        subject = _("A complaint that no training lead can answer")
        text = render_to_string(f"{FOLDER}/complaint_outside.txt", context)
    replies = [complaint.made_by.email] if complaint.made_by else []
    letter = EmailMessage(subject, text, None, [to], reply_to=replies)
    transaction.on_commit(partial(letter.send), robust=True)


def _about(complaint: Complaint) -> dict[str, object]:
    return {"complaint": complaint, "url": address("complaint", pk=complaint.pk)}

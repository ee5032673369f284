"""Telling holders and their employers ahead of what lapses or wants confirming."""

import logging
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.conf import settings
from django.core.mail import send_mail
from django.db import connection, transaction
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from certificates.models import Reminder
from certificates.queries.reminding import Item, items_by_person
from training.models import Person
from training.reader import reading_as

REMINDER_LOCK = 0x52454D44  # any number, the same in every process
logger = logging.getLogger(__name__)


@dataclass
class Sent:
    """How many e-mails went out, about how many days of records, and to whom none could go."""

    mails: int = 0
    reminders: int = 0
    failed: int = 0


def send_reminders() -> Sent:
    """Send every person one e-mail about all that they were not told of yet; return how many.

    Made for a timer that runs it once a day; running it more often sends nothing twice. What
    an e-mail tells is saved in the transaction that sends it, so a mail server that refuses
    leaves it for the next run. A process that dies between sending and saving sends that one
    e-mail again: a reminder may come twice, but none is lost. Two runs at once wait for each
    other person by person.
    """
    sent = Sent()
    wanted = items_by_person()
    for person in Person.objects.filter(pk__in=wanted, is_active=True).order_by("pk"):
        try:
            number = _remind(person, wanted[person.pk])
        except Exception:  # whatever ails one address must not keep the others from theirs
            logger.exception("The reminder to person %s could not be sent.", person.pk)
            sent.failed += 1
            continue
        sent.mails += number > 0
        sent.reminders += number
    return sent


@transaction.atomic
def _remind(person: Person, items: Sequence[Item]) -> int:
    """Send what is new to ``person``; return of how many days it tells."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(%s, %s)", [REMINDER_LOCK, person.pk])
    new = _not_told(person, items)
    if not new:
        return 0
    Reminder.objects.bulk_create(
        Reminder(
            record_id=item.held.record_id,
            person=person,
            kind=item.kind,
            due_on=item.due_on,
            days_ahead=item.days_ahead,
        )
        for item in new
    )
    with reading_as(person):
        subject, text = _subject(new), _text(person, new)
    send_mail(subject, text, None, [person.email])
    return len(new)


def _not_told(person: Person, items: Iterable[Item]) -> list[Item]:
    records = {item.held.record_id for item in items}
    told = set(
        Reminder.objects.filter(person=person, record__in=records).values_list(
            "record", "kind", "due_on", "days_ahead"
        )
    )
    return [item for item in items if item.key not in told]


def _subject(items: Sequence[Item]) -> str:
    lapses = sum(item.kind == Reminder.Kind.LAPSE for item in items)
    due = len(items) - lapses
    lapsing = ngettext("{count} record lapses soon", "{count} records lapse soon", lapses)
    wanted = ngettext("{count} confirmation is due", "{count} confirmations are due", due)
    lapsing, wanted = lapsing.format(count=lapses), wanted.format(count=due)
    if lapses and due:
        said = _("{lapsing} and {confirming}").format(lapsing=lapsing, confirming=wanted)
    else:
        said = lapsing if lapses else wanted
    return f"{said[:1].upper()}{said[1:]}"


def _text(person: Person, items: Sequence[Item]) -> str:
    own = [item for item in items if item.own]
    crew = [item for item in items if not item.own]
    return render_to_string(
        "certificates/email/reminder.txt",
        {
            "person": person,
            "own": own,
            "crew": crew,
            "crew_due": any(item.kind == Reminder.Kind.CONFIRMATION for item in crew),
            "own_url": _url("my_confirmations"),
            "records_url": _url("record_list"),
            "crew_url": _url("crew"),
            "confirm_url": _url("confirm_many"),
        },
    )


def _url(name: str) -> str:
    return f"{settings.BASE_URL}{reverse(name)}"

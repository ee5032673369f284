"""Noting who looked at a record, for its holder: once a day for each way."""

from collections.abc import Iterable
from uuid import UUID

from django.http import HttpRequest
from django.utils import timezone

from certificates.actions.links import network_of
from certificates.models import OwnLink, Record, RecordLook, ShareLink, Submittal
from training.models import Person

Way = RecordLook.Way


def note_account(*, request: HttpRequest, record: Record, person: Person) -> None:
    """Note that somebody else than the holder looked, signed in."""
    if record.holder_id != person.pk:
        _note(request, [record.pk], way=Way.ACCOUNT, person=person)


def note_own_link(*, request: HttpRequest, records: Iterable[Record], link: OwnLink) -> None:
    """Note a look through a link of the holder's own, unless by the holder."""
    if _reader(request) != link.holder_id:
        _note(request, [each.pk for each in records], way=Way.LINK, link=link)


def note_project(*, request: HttpRequest, link: ShareLink, submittal: Submittal) -> None:
    """Note a look at every record of a submittal through a project's link."""
    records = Record.objects.filter(submitted__submittal=submittal)
    records = records.exclude(holder=_reader(request)).order_by()
    keys = list(records.values_list("pk", flat=True).distinct())
    _note(request, keys, way=Way.PROJECT, recipient=link.recipient)


def note_check(*, request: HttpRequest, number: str) -> None:
    """Note a look by the number of a record, unless by its holder; whoever else it was."""
    found = Record.objects.filter(number=number).exclude(holder=_reader(request))
    _note(request, list(found.values_list("pk", flat=True)), way=Way.CHECK)


def _reader(request: HttpRequest) -> int | None:
    """Return the key of who is signed in, if anybody is."""
    person = getattr(request, "user", None)
    return person.pk if isinstance(person, Person) else None


def _note(
    request: HttpRequest,
    records: Iterable[UUID],
    *,
    way: str,
    person: Person | None = None,
    link: OwnLink | None = None,
    recipient: str = "",
) -> None:
    # A program that asks for the head alone, to show a preview, has seen nothing.
    if request.method == "HEAD":
        return
    # An account is known without its network, and may read from several a day.
    network = "" if person else network_of(request)
    now = timezone.now()
    rows = [
        RecordLook(
            record_id=key,
            way=way,
            person=person,
            link=link,
            recipient=recipient,
            network=network,
            day=timezone.localdate(now),
            first_at=now,
        )
        for key in records
    ]
    # The second look of the day meets the constraint of the first.
    RecordLook.objects.bulk_create(rows, ignore_conflicts=True)

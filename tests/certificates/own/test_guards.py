"""What the database refuses about links of one's own and looks, whatever the code above does."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.db import IntegrityError, connection, models, transaction
from django.utils import timezone

from certificates.models import OwnLink, Record, RecordLook
from tests.certificates.status.conftest import Office
from tests.certificates.status.conftest import office as office  # the fixture

D = "d" * 64
OWN: tuple[type[models.Model], ...] = (OwnLink, RecordLook)


def link(record: Record, **fields: object) -> OwnLink:
    """Save a link of the holder."""
    values: dict[str, object] = {
        "holder": record.holder,
        "token_sha256": D,
        "recipient": "Port Ellery Works",
        "expires_at": timezone.now() + timedelta(days=1),
    }
    return OwnLink.objects.create(**{**values, **fields})


def look(record: Record, **fields: object) -> RecordLook:
    """Save a look by the number."""
    values: dict[str, object] = {"record": record, "way": "check", "day": timezone.localdate()}
    return RecordLook.objects.create(**{**values, **fields})


BREAK: dict[str, Callable[[Record], object]] = {
    "own_link_token_form": lambda r: link(r, token_sha256="secret"),
    "own_link_recipient_given": lambda r: link(r, recipient=""),
    "own_link_expires_later": lambda r: link(r, expires_at=timezone.now() - timedelta(days=1)),
    "look_once_a_day": lambda r: (look(r), look(r)),
    "look_way_known": lambda r: look(r, way="window"),
    "look_way_whole": lambda r: look(r, way="account"),
}


@pytest.mark.parametrize("name", BREAK)
def test_each_named_constraint_fires(office: Office, name: str) -> None:
    with pytest.raises(IntegrityError, match=f'"{name}"'), transaction.atomic():
        BREAK[name](office.record)


def test_every_named_constraint_has_a_case() -> None:
    named = {each.name for model in OWN for each in model._meta.constraints}
    assert named == set(BREAK)


def test_what_is_right_is_taken(office: Office) -> None:
    made = link(office.record)
    look(office.record)
    look(office.record, way="account", person=office.lead)
    look(office.record, way="link", link=made)
    look(office.record, way="project", recipient="The owner")
    assert office.record.looks.count() == 4


@pytest.mark.parametrize(
    ("way", "fields"),
    [("link", {}), ("check", {"person": True}), ("project", {"link": True})],
)
def test_a_look_says_who_by_its_way(office: Office, way: str, fields: dict[str, bool]) -> None:
    who = {
        **({"person": office.lead} if "person" in fields else {}),
        **({"link": link(office.record)} if "link" in fields else {}),
    }
    with pytest.raises(IntegrityError, match='"look_way_whole"'), transaction.atomic():
        look(office.record, way=way, **who)


@pytest.mark.parametrize("statement", ["UPDATE {} SET id = id", "DELETE FROM {}"])
def test_what_was_seen_never_changes(office: Office, statement: str) -> None:
    look(office.record)
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
            cursor.execute(statement.format("certificates_recordlook"))


def test_an_ended_link_stays_ended(office: Office) -> None:
    made = link(office.record, revoked_at=timezone.now())
    with pytest.raises(IntegrityError, match="only ended"), transaction.atomic():
        OwnLink.objects.filter(pk=made.pk).update(revoked_at=None)

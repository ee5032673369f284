"""The PIN for somebody else's device: what is refused, how it is kept, when it is closed."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.core import mail
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from tests.factories import make_person
from training.actions.constraints import violated
from training.actions.pins import remove_pin, require_pin, set_pin, trivial
from training.errors import Refused
from training.models import LogEntry, Person, Pin

pytestmark = pytest.mark.django_db
GOOD = "7391"


def with_pin() -> tuple[Person, Person]:
    """Return somebody with a PIN, and whose device it is tried on."""
    person = make_person()
    set_pin(person=person, pin=GOOD, again=GOOD)
    return person, make_person()


def refused(person: Person, pin: str, actor: Person) -> str:
    with pytest.raises(Refused) as error:
        require_pin(person=person, pin=pin, actor=actor)
    assert error.value.field == "pin"
    return error.value.message


@pytest.mark.parametrize(
    ("pin", "again", "field"),
    [
        ("", "", "pin"),
        ("739", "739", "pin"),
        ("739173917", "739173917", "pin"),
        ("73a1", "73a1", "pin"),
        ("７３９１", "７３９１", "pin"),  # digits, but not those of a telephone's keys
        ("1111", "1111", "pin"),
        ("3456", "3456", "pin"),
        ("9012", "9012", "pin"),
        ("8765", "8765", "pin"),
        ("1212", "1212", "pin"),
        ("482482", "482482", "pin"),
        ("1984", "1984", "pin"),
        (GOOD, "7392", "again"),
    ],
)
def test_what_is_no_pin(pin: str, again: str, field: str) -> None:
    with pytest.raises(Refused) as error:
        set_pin(person=make_person(), pin=pin, again=again)
    assert error.value.field == field
    assert not Pin.objects.exists()


def test_most_pins_are_not_trivial() -> None:
    every = [f"{number:04}" for number in range(10_000)]
    assert sum(map(trivial, every)) < 400
    assert not any(map(trivial, ("7391", "2580", "482913", "19841", "62626")))


def test_it_is_kept_as_a_hash_and_told_nowhere() -> None:
    person, actor = with_pin()
    kept = Pin.objects.get()
    assert GOOD not in kept.hashed
    assert "$" in kept.hashed
    assert all(GOOD not in str(row.data) for row in LogEntry.objects.all())
    require_pin(person=person, pin=GOOD, actor=actor)


def test_the_database_keeps_no_pin_without_a_hash_and_one_alone() -> None:
    person, _ = with_pin()
    for wrong, rule in (({"hashed": ""}, "pin_hashed"), ({}, "training_pin_person_id_key")):
        other = person if not wrong else make_person()
        with pytest.raises(IntegrityError) as error, transaction.atomic():
            Pin.objects.create(**{"person": other, "hashed": "x", **wrong})
        assert violated(error.value) == rule


def test_another_pin_takes_its_place() -> None:
    person, actor = with_pin()
    set_pin(person=person, pin="4820", again="4820")
    refused(person, GOOD, actor)
    require_pin(person=person, pin="4820", actor=actor)
    assert Pin.objects.count() == 1


def test_without_one_it_says_what_to_do() -> None:
    person, actor = with_pin()
    remove_pin(person=person)
    assert "My account" in refused(person, GOOD, actor)
    remove_pin(person=person)
    verbs = LogEntry.objects.filter(verb__startswith="pin.").values_list("verb", flat=True)
    assert list(verbs.order_by("seq")) == ["pin.set", "pin.removed"]


def test_five_wrong_in_a_row_close_it_even_for_the_right_one(
    django_capture_on_commit_callbacks: Callable[..., object],
) -> None:
    person, actor = with_pin()
    with django_capture_on_commit_callbacks(execute=True):  # type: ignore[attr-defined]
        for _ in range(4):
            assert "not the PIN" in refused(person, "0000", actor)
        assert "Too many wrong tries" in refused(person, "0000", actor)
    assert "Too many wrong tries" in refused(person, GOOD, actor)
    assert [(letter.to, str(actor) in letter.body) for letter in mail.outbox] == [
        ([person.email], True)
    ]
    closed = LogEntry.objects.get(verb="pin.closed")
    assert (closed.actor, closed.subject_id) == (actor, str(person.pk))
    until = Pin.objects.get().closed_until
    assert until
    assert timedelta(minutes=14) < until - timezone.now() <= timedelta(minutes=15)
    Pin.objects.update(closed_until=timezone.now())
    require_pin(person=person, pin=GOOD, actor=actor)


def test_a_right_one_ends_the_count() -> None:
    person, actor = with_pin()
    for _ in range(2):
        for _ in range(4):
            refused(person, "0000", actor)
        require_pin(person=person, pin=GOOD, actor=actor)
    assert Pin.objects.get().wrong == 0


def test_the_pages_set_and_remove_it() -> None:
    person = make_person()
    client = Client()
    client.force_login(person)
    page = reverse("account_pin")
    wrong = client.post(page, {"pin": "1111", "again": "1111"})
    assert wrong.status_code == 422
    assert list(wrong.context["form"].errors) == ["pin"]
    assert "1111" not in wrong.content.decode()
    assert "Choose a PIN" in client.get(reverse("account")).content.decode()
    assert client.post(page, {"pin": GOOD, "again": GOOD}).status_code == 302
    assert Pin.objects.get().person == person
    assert "Remove the PIN" in client.get(reverse("account")).content.decode()
    assert client.post(reverse("account_pin_remove")).status_code == 302
    assert not Pin.objects.exists()

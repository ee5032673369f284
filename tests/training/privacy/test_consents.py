"""What a person agreed to: by the person, or noted by an instructor; the words stay."""

import pytest
from django.core.exceptions import PermissionDenied
from django.db import DatabaseError, transaction
from pytest_django import DjangoAssertNumQueries

from tests.factories import enrol, make_person
from tests.training.yard import Yard
from training.actions.consents import give_consent, note_consent, refuse_consent
from training.errors import Refused
from training.models import Consent, LogEntry
from training.privacy import consent_words
from training.queries.consents import consents_of, standings_of

PICTURES, NAMED = Consent.Kind.PHOTOGRAPHS, Consent.Kind.NAME_IN_REPORTS


def test_nothing_said_is_no_consent(yard: Yard) -> None:
    assert consents_of([yard.trainee], yard.provider) == {
        yard.trainee.pk: {PICTURES: None, NAMED: None}
    }


def test_the_newest_answer_counts_and_the_older_stay(yard: Yard) -> None:
    give_consent(actor=yard.trainee, provider=yard.provider, kind=PICTURES)
    give_consent(actor=yard.trainee, provider=yard.provider, kind=PICTURES)  # pressed twice
    refuse_consent(actor=yard.trainee, provider=yard.provider, kind=PICTURES)
    refuse_consent(actor=yard.trainee, provider=yard.provider, kind=NAMED)
    assert consents_of([yard.trainee.pk], yard.provider.pk)[yard.trainee.pk] == {
        PICTURES: False,
        NAMED: False,
    }
    assert list(Consent.objects.order_by("pk").values_list("kind", "given")) == [
        (PICTURES, True),
        (PICTURES, False),
        (NAMED, False),
    ]
    states = {each.kind: each.state for each in standings_of(yard.trainee)}
    assert states == {PICTURES: "withdrawn", NAMED: "refused"}


def test_what_was_read_is_kept_whatever_is_read_later(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    read = consent_words.WORDS[PICTURES]
    consent = give_consent(actor=yard.trainee, provider=yard.provider, kind=PICTURES)
    monkeypatch.setitem(consent_words.WORDS, PICTURES, "Other words.")
    consent.refresh_from_db()
    assert consent.words == read
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        Consent.objects.update(given=False)


@pytest.mark.parametrize("how", ["paper", "device"])
def test_an_instructor_notes_how_it_was_said(yard: Yard, how: str) -> None:
    consent = note_consent(
        actor=yard.teacher, enrolment=yard.enrolment, kind=NAMED, given=True, how=how
    )
    assert consent.by == yard.teacher
    assert consent.person == yard.trainee
    assert consent_words.how_of(consent.words) == how
    entry = LogEntry.objects.latest("seq")
    assert (entry.verb, entry.data["how"]) == ("consent.given", how)


def test_nobody_else_answers_for_a_person(yard: Yard) -> None:
    mine = enrol(yard.run, make_person())
    for actor in (yard.other_teacher, yard.manager, yard.stranger, yard.trainee):
        with pytest.raises(PermissionDenied):
            note_consent(actor=actor, enrolment=yard.enrolment, kind=NAMED, given=True, how="paper")
    with pytest.raises(PermissionDenied):
        note_consent(actor=mine.person, enrolment=mine, kind=NAMED, given=True, how="device")
    assert not Consent.objects.exists()


def test_what_cannot_be_is_refused_at_its_field(yard: Yard, other_yard: Yard) -> None:
    with pytest.raises(Refused) as way:
        note_consent(
            actor=yard.lead, enrolment=yard.enrolment, kind=NAMED, given=True, how="by hearsay"
        )
    with pytest.raises(Refused) as kind:
        give_consent(actor=yard.trainee, provider=yard.provider, kind="everything")
    with pytest.raises(Refused) as provider:
        give_consent(actor=yard.trainee, provider=other_yard.provider, kind=NAMED)
    assert [each.value.field for each in (way, kind, provider)] == ["how", "kind", "provider"]


def test_one_query_for_one_person_and_for_three(
    yard: Yard, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    people = [yard.trainee, *(enrol(yard.run, make_person()).person for _ in range(2))]
    for person in people:
        give_consent(actor=person, provider=yard.provider, kind=PICTURES)
    for number in (1, 3):
        with django_assert_num_queries(1):
            assert len(consents_of(people[:number], yard.provider)) == number

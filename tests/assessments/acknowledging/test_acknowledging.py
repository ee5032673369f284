"""Read and understood: who says so, how, what is kept; and that nothing depends on it."""

from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone, translation

from assessments.actions.acknowledge import acknowledge, acknowledge_here, words
from assessments.actions.constraints import violated
from assessments.actions.decisions import sign_off
from assessments.models import Acknowledgement, Attempt, Decision
from assessments.queries.acknowledged import results_to_read
from tests.assessments.builders import Yard, make_yard, score_all
from tests.assessments.test_result_views import browser, decided
from tests.factories import enrol, make_person
from training.actions.pins import set_pin
from training.errors import Refused
from training.models import LogEntry, Person, Pin

pytestmark = pytest.mark.django_db
PIN = "7391"


def result(yard: Yard, **changes: Any) -> Decision:
    attempt = decided(yard, **changes)
    return Decision.objects.get(attempt=attempt)


def page_of(decision: Decision) -> str:
    return reverse("attempt_acknowledge", args=[decision.attempt_id])


def send(person: Person, about: Decision, **data: str) -> Any:
    return browser(person).post(
        page_of(about), {"decision": str(about.pk), "language": "en", "comment": "", **data}
    )


def test_on_the_own_account() -> None:
    yard = make_yard()
    decision = result(yard)
    assert send(yard.trainee, decision, comment="Windy that day.").status_code == 302
    made = Acknowledgement.objects.get()
    assert (made.person, made.means, made.witness) == (yard.trainee, "own", None)
    assert made.words == words()
    assert "I need not agree" in made.words
    assert "right to ask for a review" in made.words
    assert made.comment == "Windy that day."
    row = LogEntry.objects.get(verb="decision.acknowledged")
    assert (row.actor, row.data["means"]) == (yard.trainee, "own")
    for reader in (yard.trainee, yard.instructor):
        shown = browser(reader).get(reverse("attempt", args=[decision.attempt_id]))
        assert "Windy that day." in shown.content.decode()


def test_on_the_instructors_device_by_pin() -> None:
    yard = make_yard()
    decision = result(yard, C3={"answer": False})
    assert "No PIN yet" in browser(yard.instructor).get(page_of(decision)).content.decode()
    set_pin(person=yard.trainee, pin=PIN, again=PIN)
    wrong = send(yard.instructor, decision, pin="1357", comment="Kept words")
    assert wrong.status_code == 422
    assert list(wrong.context["form"].errors) == ["pin"]
    shown = wrong.content.decode()
    assert "Kept words" in shown
    assert "1357" not in shown
    assert Pin.objects.get().wrong == 1
    assert send(yard.instructor, decision, pin=PIN).status_code == 302
    made = Acknowledgement.objects.get()
    assert (made.person, made.means, made.witness) == (yard.trainee, "pin", yard.instructor)
    assert LogEntry.objects.get(verb="decision.acknowledged").actor == yard.instructor


def test_the_pin_of_somebody_else_says_nothing() -> None:
    yard = make_yard()
    decision = result(yard)
    set_pin(person=yard.trainee, pin=PIN, again=PIN)
    set_pin(person=yard.instructor, pin="4820", again="4820")
    assert send(yard.instructor, decision, pin="4820").status_code == 422
    assert not Acknowledgement.objects.exists()


def test_the_page_speaks_the_trainees_language_and_keeps_its_words() -> None:
    yard = make_yard()
    yard.trainee.language = "es"
    yard.trainee.save()
    decision = result(yard)
    set_pin(person=yard.trainee, pin=PIN, again=PIN)
    page = browser(yard.instructor).get(page_of(decision))
    assert '<html lang="es">' in page.content.decode()
    assert page.context["form"].initial["language"] == "es"
    send(yard.instructor, decision, pin=PIN, language="es")
    with translation.override("es"):
        assert Acknowledgement.objects.get().words == words()


def test_once_alone() -> None:
    yard = make_yard()
    decision = result(yard)
    acknowledge(actor=yard.trainee, decision=decision)
    set_pin(person=yard.trainee, pin=PIN, again=PIN)
    with pytest.raises(Refused, match="was acknowledged on"):
        acknowledge(actor=yard.trainee, decision=decision)
    with pytest.raises(Refused, match="was acknowledged on"):
        acknowledge_here(actor=yard.instructor, decision=decision, pin="0000")
    assert Pin.objects.get().wrong == 0
    assert "was acknowledged on" in browser(yard.trainee).get(page_of(decision)).content.decode()


def test_nobody_says_it_for_somebody_else() -> None:
    yard = make_yard()
    decision = result(yard)
    set_pin(person=yard.trainee, pin=PIN, again=PIN)
    colleague = make_person()
    enrol(yard.run, colleague)
    for other in (yard.instructor, colleague):
        with pytest.raises(PermissionDenied):
            acknowledge(actor=other, decision=decision)
    for other in (colleague, yard.trainee, make_yard().instructor):
        with pytest.raises(PermissionDenied):
            acknowledge_here(actor=other, decision=decision, pin=PIN)
    assert browser(colleague).get(page_of(decision)).status_code == 404


def test_only_a_result_that_counts() -> None:
    yard = make_yard()
    first = result(yard, C3={"answer": False})
    again = Decision.objects.create(
        attempt=first.attempt,
        standard_digest=first.standard_digest,
        result=first.result,
        document=first.document,
        observations=first.observations,
        engine_version=first.engine_version,
        decided_by=yard.lead,
        replaces=first,
    )
    refused = send(yard.trainee, first)
    assert refused.status_code == 422
    assert "Another decision took its place" in refused.content.decode()
    Attempt.objects.filter(pk=again.attempt_id).update(state="void")
    assert browser(yard.trainee).get(page_of(again)).status_code == 404
    with pytest.raises(Refused, match="void"):
        acknowledge(actor=yard.trainee, decision=again)


def test_an_open_attempt_has_nothing_to_acknowledge() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    score_all(attempt, yard.instructor)
    address = reverse("attempt_acknowledge", args=[attempt.pk])
    assert browser(yard.trainee).get(address).status_code == 404


@pytest.mark.parametrize(
    "data", [{"decision": "no-id"}, {"language": "xx"}, {"comment": "x" * 2001}]
)
def test_bad_input_is_said_and_loses_nothing(data: dict[str, str]) -> None:
    yard = make_yard()
    decision = result(yard)
    comment = {"comment": "Kept words"} if "comment" not in data else {}
    answer = send(yard.trainee, decision, **comment, **data)
    assert answer.status_code == 422
    assert not Acknowledgement.objects.exists()
    assert (data.get("comment") or "Kept words") in answer.content.decode()


def test_the_database_holds_who_and_how() -> None:
    yard = make_yard()
    decision = result(yard)
    good: dict[str, Any] = {
        "decision": decision, "person": yard.trainee, "means": "own", "words": "Read."
    }  # fmt: skip
    for wrong, rule in (
        ({"person": yard.instructor}, "acknowledgement_by_trainee"),
        ({"means": "shout"}, "acknowledgement_means_known"),
        ({"words": ""}, "acknowledgement_words_kept"),
        ({"witness": yard.instructor}, "acknowledgement_witnessed"),
        ({"means": "pin"}, "acknowledgement_witnessed"),
        ({"means": "pin", "witness": yard.trainee}, "acknowledgement_witness_is_another"),
    ):
        with pytest.raises(IntegrityError) as error, transaction.atomic():
            Acknowledgement.objects.create(**{**good, **wrong})
        assert violated(error.value) == rule
    made = Acknowledgement.objects.create(**good)
    for change in (made.delete, lambda: Acknowledgement.objects.update(words="Else.")):
        with pytest.raises(Exception, match=r"append-only|only grow"), transaction.atomic():
            change()


def test_the_first_page_tells_of_results_to_read() -> None:
    yard = make_yard()
    decision = result(yard)
    assert [each.url for each in results_to_read(yard.trainee, frozenset())] == [
        reverse("attempt", args=[decision.attempt_id])
    ]
    assert not list(results_to_read(yard.instructor, frozenset()))
    acknowledge(actor=yard.trainee, decision=decision)
    assert not list(results_to_read(yard.trainee, frozenset()))


def test_a_result_says_that_it_is_void_or_looked_at_again() -> None:
    yard = make_yard()
    decision = result(yard, C3={"answer": False})
    address = reverse("attempt", args=[decision.attempt_id])
    review = decision.reviews.create(
        attempt=decision.attempt,
        asked_by=yard.trainee,
        reason="The light was poor.",
        answer_by=timezone.localdate(),
    )
    assert "A review is under way." in browser(yard.trainee).get(address).content.decode()
    type(review).objects.filter(pk=review.pk).update(state="taken_back")
    Attempt.objects.filter(pk=decision.attempt_id).update(state="void")
    shown = browser(yard.trainee).get(address).content.decode()
    assert "A review is under way." not in shown
    assert "This attempt is void" in shown
    assert "What it came to before: Not yet met." in shown
    assert "I have read it" not in shown


def test_a_result_tells_nothing_of_others() -> None:
    """What the engine, the assessors and the colleagues of a run left of another trainee."""
    yard = make_yard()
    other = make_person("Zephyrine Tallowby")
    theirs = Yard(**{**vars(yard), "trainee": other, "enrolment": enrol(yard.run, other)})
    attempt = theirs.attempt()
    score_all(attempt, yard.instructor, C1={"level": 0})
    sign_off(
        actor=yard.instructor, attempt=attempt, password_checked=True, note="Quarrelled with us."
    )
    found = Decision.objects.get(attempt=attempt)
    acknowledge(actor=other, decision=found, comment="My thumb hurt.")
    decision = result(yard)
    client = browser(yard.trainee)
    for address in ("attempt", "attempt_acknowledge"):
        shown = client.get(reverse(address, args=[decision.attempt_id])).content.decode()
        for hidden in ("Zephyrine", "Quarrelled", "thumb", str(attempt.pk), str(found.pk)):
            assert hidden not in shown
    shown = client.get(reverse("my_results")).content.decode()
    assert str(attempt.pk) not in shown


def test_the_page_costs_the_same_however_much_was_seen() -> None:
    yard = make_yard()
    first = result(yard, C3={"answer": False})
    client: Client = browser(yard.trainee)

    def cost(decision: Decision) -> int:
        with CaptureQueriesContext(connection) as queries:
            assert client.get(reverse("attempt", args=[decision.attempt_id])).status_code == 200
        return len(queries)

    cost(first)
    last = result(yard, C3={"answer": False})
    once_more = cost(last)
    earlier = cost(first)
    for _ in range(2):
        last = result(yard, C1={"level": 0}, C3={"answer": False})
    assert cost(last) == once_more
    assert cost(first) == earlier < once_more

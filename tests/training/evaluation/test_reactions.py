"""Answers about a run: once, with nobody's name, and shown from four on."""

import re
from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from tests.factories import enrol, make_organisation, make_person, make_program, make_role, make_run
from training.actions.log import verify_log
from training.actions.reactions import give_reaction
from training.errors import Refused
from training.models import CourseRun, Enrolment, LogEntry, Person, Reaction, ReactionGiven, Role
from training.queries.reactions import reactions_by_run, reactions_of, reactions_to_give
from training.reaction_form import QUESTIONS, STATEMENTS

pytestmark = pytest.mark.django_db
FULL = {each.key: 4 for each in STATEMENTS}


def ended_run(**fields: object) -> CourseRun:
    provider = make_organisation()
    teacher = make_role(Role.Kind.INSTRUCTOR, provider)
    today = timezone.localdate()
    values = {"starts_on": today - timedelta(days=4), "ends_on": today - timedelta(days=1)}
    return make_run(make_program(provider), instructors=(teacher,), **{**values, **fields})


def answer(run: CourseRun, rating: int = 4, text: str = "") -> Enrolment:
    enrolment = enrol(run, make_person())
    give_reaction(
        actor=enrolment.person,
        enrolment=enrolment,
        ratings=dict.fromkeys(FULL, rating),
        texts={"keep_1": text},
    )
    return enrolment


def browser(person: Person) -> Client:
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


def test_nothing_stored_leads_from_a_person_to_the_answers() -> None:
    run = ended_run()
    enrolments = [answer(run, rating) for rating in (1, 2, 3, 4, 5)]
    given = ReactionGiven.objects.in_bulk(field_name="enrolment_id")
    marks = [given[each.pk].pk for each in enrolments]
    answers = {each.answers["aim_1"]: each.pk for each in Reaction.objects.all()}
    keys = [answers[rating] for rating in (1, 2, 3, 4, 5)]
    # Keys that were counted up would put both tables in the same order.
    for counted in (marks, keys):
        assert max(counted) - min(counted) > 1000
    assert not set(marks) & set(keys)
    assert {field.name for field in Reaction._meta.get_fields()} == {"id", "run", "answers", "on"}
    for entry in LogEntry.objects.filter(verb="reaction.given"):
        assert (entry.actor_id, entry.data, entry.subject_id) == (None, {}, str(run.pk))
    assert verify_log() is None


def test_three_answers_are_not_shown_and_four_are() -> None:
    run = ended_run()
    for rating in (5, 5, 2):
        answer(run, rating, "The mock-up wall")
    hidden = reactions_of(run)
    assert (hidden.answered, hidden.statements, hidden.texts) == (3, [], [])
    page = browser(run.instructors.get()).get(reverse("run_reactions", args=[run.pk]))
    assert "mock-up" not in page.content.decode()
    answer(run, 4, "The trowel work")
    shown = reactions_of(run)
    # Worked by hand: 5 + 5 + 2 + 4 = 16, of four.
    assert [each.mean for each in shown.statements] == [4] * len(STATEMENTS)
    assert shown.statements[0].chosen == (0, 1, 0, 1, 2)
    assert sorted(shown.texts[0][1]) == ["The mock-up wall"] * 3 + ["The trowel work"]
    page = browser(run.instructors.get()).get(reverse("run_reactions", args=[run.pk]))
    assert "The trowel work" in page.content.decode()


def test_texts_do_not_stand_in_the_order_of_arrival() -> None:
    run = ended_run()
    written = [f"Remark {number}" for number in range(12)]
    for text in written:
        answer(run, 4, text)
    orders = {tuple(reactions_of(run).texts[0][1]) for _ in range(4)}
    # Of 12! orders none comes twice, nor is that of arrival one of four, but once in 10^8.
    assert len(orders) == 4
    assert tuple(written) not in orders


def test_a_second_answer_and_anothers_place_are_refused() -> None:
    run = ended_run()
    enrolment = answer(run)
    with pytest.raises(Refused, match="already"):
        give_reaction(actor=enrolment.person, enrolment=enrolment, ratings=FULL, texts={})
    with pytest.raises(PermissionDenied):
        give_reaction(actor=make_person(), enrolment=enrolment, ratings=FULL, texts={})
    assert Reaction.objects.count() == 1


def test_before_the_last_day_and_without_a_place_nobody_is_asked() -> None:
    tomorrow = timezone.localdate() + timedelta(days=2)
    run = ended_run(ends_on=tomorrow)
    enrolment = enrol(run, make_person())
    with pytest.raises(Refused, match="last day"):
        give_reaction(actor=enrolment.person, enrolment=enrolment, ratings=FULL, texts={})
    assert list(reactions_to_give(enrolment.person, frozenset({"trainee"}))) == []
    waiting = enrol(ended_run(), make_person())
    Enrolment.objects.filter(pk=waiting.pk).update(state=Enrolment.State.WAITING)
    with pytest.raises(Refused, match="not enrolled"):
        give_reaction(actor=waiting.person, enrolment=waiting, ratings=FULL, texts={})


@pytest.mark.parametrize("rating", [0, 6, None])
def test_a_number_off_the_scale_is_refused_at_its_field(rating: int | None) -> None:
    enrolment = enrol(ended_run(), make_person())
    ratings = {key: value for key, value in {**FULL, "fair_1": rating}.items() if value is not None}
    with pytest.raises(Refused, match="1 to 5") as refused:
        give_reaction(actor=enrolment.person, enrolment=enrolment, ratings=ratings, texts={})
    assert refused.value.field == "fair_1"
    assert not ReactionGiven.objects.exists()


def test_the_page_keeps_what_was_entered_and_takes_it_once() -> None:
    enrolment = enrol(ended_run(), make_person())
    client, address = browser(enrolment.person), reverse("reaction_new", args=[enrolment.pk])
    sent = dict.fromkeys(FULL, "4") | {"keep_1": "Time at the wall"}
    lacking = client.post(address, {key: value for key, value in sent.items() if key != "use_1"})
    assert lacking.status_code == 422
    assert "Choose a number from 1 to 5." in lacking.content.decode()
    assert "Time at the wall" in lacking.content.decode()
    assert client.post(address, sent).status_code == 302
    page = client.get(address).content.decode()
    assert "You have answered" in page
    assert "Time at the wall" not in page
    again = client.post(address, sent)
    assert again.status_code == 422
    assert Reaction.objects.count() == 1


def test_a_trainee_is_asked_on_the_first_page_until_the_answer() -> None:
    enrolment = enrol(ended_run(), make_person())
    (todo,) = reactions_to_give(enrolment.person, frozenset({"trainee"}))
    assert todo.url == reverse("reaction_new", args=[enrolment.pk])
    give_reaction(actor=enrolment.person, enrolment=enrolment, ratings=FULL, texts={})
    assert list(reactions_to_give(enrolment.person, frozenset({"trainee"}))) == []


def test_who_reads_which_page() -> None:
    run = ended_run()
    enrolment = enrol(run, make_person())
    form, said = (
        reverse("reaction_new", args=[enrolment.pk]),
        reverse("run_reactions", args=[run.pk]),
    )
    lead = make_role(Role.Kind.LEAD, run.program.provider)
    found = {
        name: [browser(person).get(address).status_code for address in (form, said)]
        for name, person in {
            "lead": lead,
            "instructor": run.instructors.get(),
            "trainee": enrolment.person,
            "stranger": make_person(),
        }.items()
    }
    assert found == {
        "lead": [403, 200],
        "instructor": [403, 200],
        "trainee": [200, 404],
        "stranger": [404, 404],
    }


def test_queries_do_not_grow_with_runs() -> None:
    runs = [ended_run() for _ in range(3)]
    for run in runs:
        answer(run)
    for asked in (runs[:1], runs):
        with CaptureQueriesContext(connection) as queries:
            reactions_by_run(asked)
        assert len(queries) == 2


def test_a_key_names_the_version_of_its_words() -> None:
    keys = [each.key for each in (*STATEMENTS, *QUESTIONS)]
    assert len(set(keys)) == len(keys)
    assert all(re.fullmatch(r"[a-z]+_[1-9][0-9]*", key) for key in keys)

"""The pages about presence and questions, by whoever may open them."""

import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from tests.factories import enrol, make_person
from tests.training.presence.builders import EIGHT, HOUR, MINUTE, make_module, make_session, note
from tests.training.yard import Yard
from training.actions.attendance_code import current_code
from training.models import Attendance, Person, Question, Session, SignInCode

BACKEND = "django.contrib.auth.backends.ModelBackend"


def signed_in(person: Person) -> Client:
    client = Client()
    client.force_login(person, backend=BACKEND)
    return client


def now_session(yard: Yard, **fields: Any) -> Session:
    """A session that began ten minutes ago."""
    starts = timezone.now().replace(second=0, microsecond=0) - 10 * MINUTE
    return make_session(yard.run, starts_at=starts, ends_at=starts + 2 * HOUR, **fields)


def code_for(yard: Yard, session: Session) -> SignInCode:
    return current_code(actor=yard.teacher, session=session)


def test_a_trainee_scans_signs_in_and_leaves(yard: Yard) -> None:
    session = now_session(yard)
    client = signed_in(yard.trainee)
    wall = signed_in(yard.teacher).get(reverse("session_code", args=[session.pk]))
    code = session.codes.get()
    assert f"{code.token[:4]} {code.token[4:]}" in wall.text
    assert '<meta http-equiv="refresh"' in wall.text
    assert "0 of 1 have signed in" in wall.text
    address = reverse("presence_sign_in", args=[code.token])
    assert "You are not signed in yet" in client.get(address).text
    assert Attendance.objects.count() == 0

    page = client.post(address, {"kind": "came"}, follow=True)

    row = Attendance.objects.get()
    assert (row.kind, row.how, row.by, row.person) == (
        "came",
        "own_code",
        yard.trainee,
        yard.trainee,
    )
    zone = session.run.site.time_zone
    local = row.at.astimezone(ZoneInfo(zone))
    assert f"You are signed in to {session.title}, {local:%H:%M}." in page.text
    assert re.search(r"That is 1[01] minutes late", page.text)
    page = client.post(address, {"kind": "left"}, follow=True)
    assert "You left" in page.text
    assert Attendance.objects.filter(kind="left").count() == 1


def test_typing_the_code_leads_to_the_same_page(yard: Yard) -> None:
    code = code_for(yard, now_session(yard))
    client = signed_in(yard.trainee)
    typed = f" {code.token[:4].lower()}-{code.token[4:]} "

    answer = client.post(reverse("presence_code"), {"code": typed})

    assert answer["Location"] == reverse("presence_sign_in", args=[code.token])
    wrong = client.post(reverse("presence_code"), {"code": "AAAA AAAA"})
    assert wrong.status_code == 422
    assert "There is no such code" in wrong.text
    assert "AAAA AAAA" in wrong.text


def test_who_may_know_of_a_code(yard: Yard, other_yard: Yard) -> None:
    code = code_for(yard, now_session(yard))
    address = reverse("presence_sign_in", args=[code.token])

    found = {
        name: signed_in(person).get(address).status_code
        for name, person in {
            "trainee": yard.trainee,
            "teacher": yard.teacher,
            "lead": yard.lead,
            "stranger": yard.stranger,
            "other": other_yard.trainee,
        }.items()
    }

    assert found == {"trainee": 200, "teacher": 403, "lead": 403, "stranger": 404, "other": 404}
    assert Client().get(address)["Location"].endswith(f"?next={address}")


def test_a_code_that_has_ended_says_so_and_takes_nothing(yard: Yard) -> None:
    code = code_for(yard, now_session(yard))
    SignInCode.objects.update(valid_until=timezone.now(), made_at=timezone.now() - HOUR)
    client = signed_in(yard.trainee)
    address = reverse("presence_sign_in", args=[code.token])

    answer = client.post(address, {"kind": "came"})

    assert answer.status_code == 422
    assert "This code has ended" in answer.text
    assert Attendance.objects.count() == 0
    assert "This code has ended" in client.get(address).text


def test_outside_of_its_hours_a_session_shows_no_code(yard: Yard) -> None:
    session = make_session(yard.run)

    page = signed_in(yard.teacher).get(reverse("session_code", args=[session.pk]))

    assert "There is no code now" in page.text
    assert session.codes.count() == 0


def desk(yard: Yard, session: Session, **fields: Any) -> dict[str, Any]:
    local = session.starts_at.astimezone(ZoneInfo("America/New_York"))
    values = {
        "kind": "came",
        "day": f"{local:%Y-%m-%d}",
        "time": f"{local:%H:%M}",
        "note": "",
        "id": "11111111-1111-4111-8111-111111111111",
    }
    return {**values, **fields}


def test_noting_at_the_desk_twice_by_the_same_form_is_noted_once(yard: Yard) -> None:
    session = now_session(yard)
    client = signed_in(yard.teacher)
    address = reverse("presence_note", args=[session.pk, yard.trainee.pk])
    assert client.get(address).status_code == 200

    for _ in range(2):
        answer = client.post(address, desk(yard, session))
        assert answer["Location"] == reverse("session_presence", args=[session.pk])

    row = Attendance.objects.get()
    assert (row.at, row.how, row.by) == (session.starts_at, "desk", yard.teacher)
    other = client.post(address, desk(yard, session, kind="absent"))
    assert other.status_code == 422
    assert "sent before with other values" in other.text


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"time": ""}, "Write the time."),
        ({"day": "2026-13-01"}, "year-month-day"),
        ({"kind": "elsewhere"}, "Select a valid choice"),
        ({"day": "2020-01-01"}, "more than a day from the session"),
    ],
)
def test_faults_of_the_desk_stand_at_their_field(
    yard: Yard, fields: dict[str, str], told: str
) -> None:
    session = now_session(yard)
    address = reverse("presence_note", args=[session.pk, yard.trainee.pk])

    answer = signed_in(yard.teacher).post(
        address, desk(yard, session, note="Rain on the stairs", **fields)
    )

    assert answer.status_code == 422
    assert told in answer.text
    assert "Rain on the stairs" in answer.text
    assert Attendance.objects.count() == 0


def test_a_correction_needs_a_reason_and_both_stay_in_sight(yard: Yard) -> None:
    session = now_session(yard)
    wrong = note(session, yard.trainee, "absent", session.starts_at, yard.teacher)
    client = signed_in(yard.lead)
    address = reverse("presence_correct", args=[wrong.pk])
    assert client.get(address).status_code == 200

    silent = client.post(address, desk(yard, session))
    done = client.post(address, desk(yard, session, note="Stood behind the hoist"))

    assert silent.status_code == 422
    assert "Write why it is corrected." in silent.text
    assert done.status_code == 302
    right = Attendance.objects.get(replaces=wrong)
    assert (right.kind, right.by) == ("came", yard.lead)
    page = client.get(reverse("session_presence", args=[session.pk])).text
    assert "Stood behind the hoist" in page
    assert "Stood before" in page
    again = client.get(address, follow=True)
    assert "corrected already" in again.text


def test_a_list_on_paper_is_noted_in_one_go(yard: Yard) -> None:
    session = now_session(yard)
    others = [enrol(yard.run, make_person()).person for _ in range(2)]
    note(session, others[0], "came", session.starts_at, yard.teacher)
    client = signed_in(yard.teacher)
    address = reverse("session_presence", args=[session.pk])
    values = desk(yard, session, people=[each.pk for each in (yard.trainee, *others)])

    answer = client.post(address, values, follow=True)

    assert "Noted of 2 people." in answer.text
    assert Attendance.objects.count() == 3
    assert "Noted of 0 people." in client.post(address, values, follow=True).text
    assert client.post(address, desk(yard, session)).status_code == 422


@pytest.mark.parametrize("number", [1, 3])
def test_the_page_of_a_session_asks_as_often_for_three_as_for_one(
    yard: Yard, number: int, django_assert_num_queries: Callable[..., Any]
) -> None:
    session = make_session(yard.run)
    for _ in range(number):
        person = enrol(yard.run, make_person()).person
        wrong = note(session, person, "came", EIGHT + HOUR, yard.teacher)
        note(session, person, "came", EIGHT, yard.lead, replaces=wrong, note="Wrong hour")
    client = signed_in(yard.teacher)
    address = reverse("session_presence", args=[session.pk])

    with django_assert_num_queries(9):
        assert client.get(address).text.count("Wrong hour") == 2 * number


def test_the_hours_of_a_run_name_what_is_missing(yard: Yard) -> None:
    module = make_module(yard.program, 150)
    session = make_session(yard.run, module=module)
    note(session, yard.trainee, "came", EIGHT + 30 * MINUTE, yard.teacher)

    page = signed_in(yard.lead).get(reverse("run_hours", args=[yard.run.pk])).text

    assert "1 of 1 lack hours." in page
    assert "M1: 60 min" in page
    assert "120 of 150 min planned" in page


def test_the_sheets_on_paper_are_pdf(yard: Yard) -> None:
    session = make_session(yard.run, module=make_module(yard.program))
    note(session, yard.trainee, "came", EIGHT, yard.teacher)
    client = signed_in(yard.teacher)

    for name, key in (("session_sheet", session.pk), ("run_hours_pdf", yard.run.pk)):
        answer = client.get(reverse(name, args=[key]))
        assert answer["Content-Type"] == "application/pdf"
        assert answer.content.startswith(b"%PDF-")


def test_questions_are_asked_answered_and_waited_for(yard: Yard) -> None:
    trainee, teacher = signed_in(yard.trainee), signed_in(yard.teacher)
    mine = reverse("my_course", args=[yard.enrolment.pk])
    page = trainee.post(mine, {"text": "How long must lime putty stand?"}, follow=True)
    assert "Waits for an answer" in page.text
    question = Question.objects.get()
    assert "1 question waits for an answer" in teacher.get("/").text
    answer = reverse("question_answer", args=[question.pk])
    assert trainee.get(answer).status_code == 404

    assert teacher.post(answer, {"answer": " "}).status_code == 422
    assert teacher.post(answer, {"answer": "As its data sheet says."}).status_code == 302

    question.refresh_from_db()
    assert (question.asked_by, question.answered_by) == (yard.trainee, yard.teacher)
    assert "As its data sheet says." in trainee.get(mine).text
    assert "waits for an answer" not in teacher.get("/").text
    again = teacher.post(answer, {"answer": "Otherwise."})
    assert again.status_code == 422
    assert "answered this meanwhile" in again.text


def test_a_question_asked_aloud_is_written_down(yard: Yard) -> None:
    client = signed_in(yard.teacher)
    address = reverse("run_questions", args=[yard.run.pk])

    client.post(address, {"text": "Who holds the hoist?", "asked_by": yard.trainee.pk})
    client.post(address, {"text": "And who lowers it?"})

    assert [(each.asked_by, each.written_by) for each in Question.objects.all()] == [
        (yard.trainee, yard.teacher),
        (None, yard.teacher),
    ]
    stranger = {"text": "Why?", "asked_by": yard.stranger.pk}
    assert client.post(address, stranger).status_code == 422


def test_a_trainee_reads_others_questions_without_names_once_answered(yard: Yard) -> None:
    other = enrol(yard.run, make_person("Corwin Pellant")).person
    open_one = Question.objects.create(
        run=yard.run, asked_by=other, written_by=other, text="Is it safe?"
    )
    Question.objects.create(
        run=yard.run,
        asked_by=other,
        written_by=other,
        text="Which sand?",
        answer="Sharp sand.",
        answered_by=yard.teacher,
        answered_at=timezone.now(),
    )

    page = signed_in(yard.trainee).get(reverse("my_course", args=[yard.enrolment.pk])).text

    assert "Sharp sand." in page
    assert open_one.text not in page
    assert "Corwin Pellant" not in page


def test_what_others_may_open(yard: Yard, other_yard: Yard) -> None:
    session = now_session(yard)
    row = note(session, yard.trainee, "came", session.starts_at, yard.teacher)
    question = Question.objects.create(run=yard.run, text="Why?", written_by=yard.teacher)
    addresses = [
        reverse("session_code", args=[session.pk]),
        reverse("session_presence", args=[session.pk]),
        reverse("session_sheet", args=[session.pk]),
        reverse("presence_note", args=[session.pk, yard.trainee.pk]),
        reverse("presence_correct", args=[row.pk]),
        reverse("run_hours", args=[yard.run.pk]),
        reverse("run_questions", args=[yard.run.pk]),
        reverse("question_answer", args=[question.pk]),
        reverse("my_course", args=[yard.enrolment.pk]),
    ]

    for person in (yard.other_teacher, yard.manager, other_yard.lead):
        client = signed_in(person)
        assert {address: client.get(address).status_code for address in addresses} == dict.fromkeys(
            addresses, 404
        )
    own = signed_in(yard.trainee)
    assert [own.get(address).status_code for address in addresses] == [404] * 8 + [200]
    teacher = signed_in(yard.teacher)
    assert [teacher.get(address).status_code for address in addresses] == [200] * 8 + [404]


def test_what_waits_on_the_first_page(yard: Yard) -> None:
    now_session(yard, title="Raking out")
    over = timezone.now() - timedelta(days=1)
    make_session(yard.run, title="Slaking", starts_at=over - HOUR, ends_at=over)

    assert "Sign in to Raking out" in signed_in(yard.trainee).get("/").text
    page = signed_in(yard.teacher).get("/").text
    assert "Note who was at Slaking" in page
    assert "Note who was at Raking out" not in page

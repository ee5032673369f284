"""Two at the same moment: an entry and the closing of its round; the same entry twice."""

import threading

import pytest
from django.db import connection, transaction

from assessments.actions.panel.judgements import make_judgement
from assessments.actions.panel.rounds import close_round, open_round
from assessments.models import Judgement, JudgingRound
from tests.assessments.builders import at_once
from tests.assessments.panel.builders import CRITERIA, enter, make_room
from training.errors import Refused
from training.models import LogEntry

pytestmark = pytest.mark.django_db(transaction=True)


def test_closing_waits_for_an_entry_on_its_way_and_counts_it() -> None:
    room = make_room()
    first, second = room.seat(2)
    opened = open_round(actor=room.lead, panel=room.panel)
    for key in CRITERIA[1:]:
        enter(first, opened, key, "0.5")
    for key in CRITERIA:
        enter(second, opened, key, "0.5")
    closed = threading.Event()
    failures: list[BaseException] = []

    def close() -> None:
        try:
            # No gap is accepted: it closes only if it sees the entry that is on its way.
            close_round(actor=room.lead, round=opened)
        except BaseException as error:
            failures.append(error)
        finally:
            closed.set()
            connection.close()

    with transaction.atomic():
        Judgement.objects.create(
            round=opened,
            judge=first,
            subject_kind="criterion",
            subject_key=CRITERIA[0],
            value={"share": "0.5"},
        )
        thread = threading.Thread(target=close)
        thread.start()
        wait_for_a_lock()
        assert not closed.is_set()
    thread.join()
    assert failures == []
    opened.refresh_from_db()
    assert opened.state == JudgingRound.State.CLOSED
    assert LogEntry.objects.get(verb="round.closed").data["missing"] == 0


def test_an_entry_waits_for_the_closing_and_is_refused() -> None:
    room = make_room()
    judge, _ = room.seat(2)
    opened = open_round(actor=room.lead, panel=room.panel)
    refusals: list[str] = []

    def judge_late() -> None:
        try:
            enter(judge, opened, "width", "0.5")
        except Refused as refused:
            refusals.append(refused.message)
        finally:
            connection.close()

    with transaction.atomic():
        close_round(actor=room.lead, round=opened, accept_gaps=True)
        thread = threading.Thread(target=judge_late)
        thread.start()
        wait_for_a_lock()
    thread.join()
    assert refusals == ["This round is closed: nothing more is entered in it."]
    assert not Judgement.objects.exists()


def test_two_first_entries_at_once_leave_one() -> None:
    room = make_room()
    judge, _ = room.seat(2)
    opened = open_round(actor=room.lead, panel=room.panel)

    def work(number: int) -> str:
        try:
            make_judgement(
                actor=judge.person,
                round=opened,
                subject_kind="criterion",
                subject_key="width",
                value={"share": f"0.{number + 5}"},
            )
        except Refused as refused:
            return refused.message
        return "made"

    said = at_once(work)
    current = Judgement.objects.filter(replaced_by__isnull=True)
    assert current.count() == 1
    assert "made" in said
    assert all(each == "made" or "meanwhile" in each for each in said)


def wait_for_a_lock() -> None:
    """Return once another session waits for a lock of this one."""
    pause = threading.Event()
    for _ in range(600):
        with connection.cursor() as cursor:
            cursor.execute(
                "SELECT count(*) FROM pg_locks "
                "WHERE NOT granted AND pg_backend_pid() = ANY(pg_blocking_pids(pid))"
            )
            if cursor.fetchone()[0]:
                return
        pause.wait(0.05)
    raise AssertionError("nobody came to wait for the lock")

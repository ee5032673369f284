"""The log: a hash chain that only grows, whoever writes at once."""

import hashlib
import json
import threading
from datetime import UTC

import pytest
from django.db import DatabaseError, connection, connections, transaction
from django.db.transaction import TransactionManagementError

from tests.factories import make_organisation
from tests.training.yard import Yard
from tests.triggers import guarded_tables, lifted
from training.actions.log import verify_log, write_log
from training.models import LogEntry, Organisation
from training.models.log import FIRST_PREVIOUS

TABLE = "training_logentry"


def write(yard: Yard, rows: int = 3) -> list[LogEntry]:
    """Write some rows."""
    return [
        write_log(actor=yard.lead, verb="tested", subject=yard.run, data={"n": n, "who": "Zoë"})
        for n in range(rows)
    ]


def test_rows_are_chained_by_their_digests(yard: Yard) -> None:
    first, second, third = write(yard)
    assert (first.seq, first.previous) == (1, FIRST_PREVIOUS)
    assert (second.previous, third.previous) == (first.digest, second.digest)
    assert verify_log() is None


def test_a_digest_is_what_anybody_can_compute(yard: Yard) -> None:
    """RFC 8785 of strings and integers is JSON with sorted keys and no spaces; FIPS 180-4."""
    row = LogEntry.objects.get(pk=write(yard, 1)[0].pk)
    content = {
        "seq": 1,
        "at": row.at.astimezone(UTC).isoformat(timespec="microseconds"),
        "actor": yard.lead.pk,
        "verb": "tested",
        "subject_type": "training.courserun",
        "subject_id": str(yard.run.pk),
        "data": {"n": 0, "who": "Zoë"},
        "previous": "0" * 64,
    }
    text = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert row.digest == hashlib.sha256(text.encode()).hexdigest()


def test_an_empty_log_is_whole(db: None) -> None:
    assert verify_log() is None


@pytest.mark.parametrize(
    ("change", "seq", "said"),
    [
        ("UPDATE training_logentry SET verb = 'other' WHERE seq = 2", 2, "content"),
        ("UPDATE training_logentry SET data = '{\"n\": 9}' WHERE seq = 2", 2, "content"),
        (
            "UPDATE training_logentry SET data = '{\"n\": 99999999999999999999}' WHERE seq = 2",
            2,
            "content",
        ),
        ("UPDATE training_logentry SET actor_id = NULL WHERE seq = 3", 3, "content"),
        ("UPDATE training_logentry SET at = at + interval '1 us' WHERE seq = 1", 1, "content"),
        ("DELETE FROM training_logentry WHERE seq = 2", 2, "missing"),
        ("DELETE FROM training_logentry WHERE seq = 1", 1, "missing"),
        ("UPDATE training_logentry SET seq = 9 WHERE seq = 3", 3, "missing"),
        (f"UPDATE training_logentry SET previous = '{'a' * 64}' WHERE seq = 2", 2, "before it"),
        (f"UPDATE training_logentry SET digest = '{'a' * 64}' WHERE seq = 2", 2, "content"),
    ],
)
def test_the_first_broken_row_is_named(yard: Yard, change: str, seq: int, said: str) -> None:
    write(yard)
    with lifted(TABLE), connection.cursor() as cursor:
        cursor.execute(change)
    broken = verify_log()
    assert broken is not None
    assert broken.seq == seq
    assert said in broken.reason


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE training_logentry SET verb = 'other'",
        "DELETE FROM training_logentry",
        "TRUNCATE training_logentry",
        "TRUNCATE training_logentry CASCADE",
    ],
)
def test_the_log_only_grows(yard: Yard, change: str) -> None:
    write(yard)
    connection.check_constraints()  # TRUNCATE waits for those put off to the end
    with (
        pytest.raises(DatabaseError, match="training_logentry is append-only"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(change)
    assert verify_log() is None
    assert LogEntry.objects.count() == 3


def test_the_triggers_are_back_after_they_were_lifted(yard: Yard) -> None:
    write(yard)
    assert TABLE in guarded_tables()
    with lifted(TABLE):
        LogEntry.objects.filter(seq=3).delete()
    with pytest.raises(DatabaseError, match="append-only"):
        LogEntry.objects.filter(seq=2).delete()


@pytest.mark.django_db(transaction=True)
def test_writing_needs_a_transaction() -> None:
    with pytest.raises(TransactionManagementError):
        write_log(actor=None, verb="tested", subject=make_organisation())


@pytest.mark.faults
@pytest.mark.django_db(transaction=True)
def test_writers_at_once_make_one_chain() -> None:
    """Two writers that start together, each with transactions of several rows."""
    subject = make_organisation()
    start = threading.Barrier(2)
    faults: list[BaseException] = []

    def writer() -> None:
        try:
            start.wait(timeout=30)
            for number in range(15):
                with transaction.atomic():
                    Organisation.objects.get(pk=subject.pk)
                    for part in range(2):
                        write_log(
                            actor=None,
                            verb="tested",
                            subject=subject,
                            data={"number": number, "part": part},
                        )
        except BaseException as error:
            faults.append(error)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=writer) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert faults == []
    assert LogEntry.objects.count() == 60
    assert verify_log() is None
    parts = list(LogEntry.objects.order_by("seq").values_list("data__part", flat=True))
    assert parts == [0, 1] * 30  # nobody wrote between the rows of one transaction


@pytest.mark.django_db(transaction=True)
def test_a_row_that_is_rolled_back_leaves_no_gap() -> None:
    subject = make_organisation()
    with transaction.atomic():
        write_log(actor=None, verb="tested", subject=subject)
        transaction.set_rollback(True)
    with transaction.atomic():
        assert write_log(actor=None, verb="tested", subject=subject).seq == 1
    assert verify_log() is None

"""Signing off: once, by an assessor with a password, and always the same from the same facts."""

import json
from pathlib import Path
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.core.management import call_command
from django.db import OperationalError, connection

from assessments.actions.decisions import decide_again, sign_off
from assessments.actions.observations import record_observation
from assessments.engine.canonical import digest
from assessments.models import Attempt, Decision
from assessments.queries.attempts import observations_document
from tests.assessments.builders import (
    GOOD,
    ONE_ASSESSOR,
    Yard,
    at_once,
    event,
    make_yard,
    readings,
    score_all,
    standard_document,
)
from training.errors import Refused
from training.models import LogEntry, Person, Program


def sign(yard: Yard, attempt: Attempt, **changes: Any) -> Decision:
    given: dict[str, Any] = {"actor": yard.instructor, "password_checked": True, **changes}
    return sign_off(attempt=attempt, **given)


@pytest.mark.django_db
def test_a_good_piece_meets_the_standard() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    score_all(attempt, yard.instructor)
    decision = sign(yard, attempt, note="A clean joint.")
    attempt.refresh_from_db()
    assert (decision.result, attempt.state) == ("met", "decided")
    assert decision.note == "A clean joint."
    assert decision.standard_digest == yard.standard.digest
    assert decision.observations == observations_document(attempt)
    assert decision.document["engine"] == decision.engine_version
    row = LogEntry.objects.get(verb="attempt.decided")
    assert row.subject_id == str(decision.pk)
    assert row.data["document_digest"] == digest(decision.document)


@pytest.mark.django_db
def test_the_stored_row_decides_the_same_again() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    score_all(attempt, yard.instructor, C1={"level": 0}, C3={"answer": False})
    pk = sign(yard, attempt).pk
    stored = Decision.objects.get(pk=pk)
    assert stored.result == "not_yet_met"
    assert decide_again(stored) == stored.document
    assert [row["criterion"] for row in stored.document["practice"]] == ["C3"]


@pytest.mark.django_db
def test_the_same_facts_give_the_same_document() -> None:
    yard = make_yard()
    documents = []
    for _ in range(2):
        attempt = yard.attempt()
        score_all(attempt, yard.instructor, C3={"answer": False})
        documents.append(sign(yard, attempt).document)
    first, second = documents
    assert first.pop("attempt") != second.pop("attempt")
    assert first == second


@pytest.mark.django_db
def test_a_failed_critical_criterion_is_not_yet_met() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    score_all(attempt, yard.instructor, C3={"answer": False})
    decision = sign(yard, attempt)
    assert decision.result == "not_yet_met"
    assert "critical" in decision.document["reasons"][0]


@pytest.mark.django_db
def test_incomplete_needs_a_written_reason() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    score_all(attempt, yard.instructor, C5=None)
    for blank in ("", "  \n"):
        with pytest.raises(Refused) as caught:
            sign(yard, attempt, note=blank)
        assert caught.value.field == "note"
    decision = sign(yard, attempt, note="Rain stopped the work.")
    assert (decision.result, decision.note) == ("incomplete", "Rain stopped the work.")
    again = yard.attempt()
    assert again.number == 2


@pytest.mark.django_db
def test_a_hold_point_not_accepted_leaves_it_incomplete() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    score_all(attempt, yard.instructor, fit={"accepted": False})
    with pytest.raises(Refused) as caught:
        sign(yard, attempt)
    assert caught.value.field == "note"


@pytest.mark.django_db
def test_undecided_waits_for_a_second_assessor() -> None:
    # 4 of 5 weights are met: 80 %, within the band of 5 % around a cut of 80 %.
    rule = {**ONE_ASSESSOR, "cut": "0.8", "band": "0.05"}
    yard = make_yard(pass_rule=rule)
    attempt = yard.attempt()
    score_all(attempt, yard.instructor, C4={"count": 5})
    with pytest.raises(Refused, match="second assessor"):
        sign(yard, attempt, note="It looks right.")
    assert not Decision.objects.exists()
    score_all(attempt, yard.lead, C4={"count": 4})
    assert sign(yard, attempt).result == "met"


@pytest.mark.django_db
def test_corrections_count_and_stay_in_the_document() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    score_all(attempt, yard.instructor, C3={"answer": False})
    wrong = attempt.observations.get(subject_key="C3")
    sent = event(attempt, "C3", {"answer": True}, replaces=str(wrong.pk))
    record_observation(actor=yard.instructor, event=sent)
    decision = sign(yard, attempt)
    assert decision.result == "met"
    rows = [row for row in decision.observations["observations"] if row["subject"]["key"] == "C3"]
    assert [row["value"] for row in rows] == [{"answer": False}, {"answer": True}]


@pytest.mark.django_db
def test_what_was_shown_is_what_is_signed() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    score_all(attempt, yard.instructor)
    seen = digest(observations_document(attempt))
    record_observation(actor=yard.lead, event=event(attempt, "C3", {"answer": False}))
    with pytest.raises(Refused, match="after you opened this page"):
        sign(yard, attempt, seen=seen)
    assert sign(yard, attempt, seen=digest(observations_document(attempt)))


@pytest.mark.django_db
def test_who_may_not_sign() -> None:
    yard = make_yard()
    other = make_yard()
    attempt = yard.attempt()
    score_all(attempt, yard.instructor)
    strangers: list[Person] = [yard.trainee, other.lead, other.instructor]
    for person in strangers:
        with pytest.raises(PermissionDenied):
            sign(yard, attempt, actor=person)
    with pytest.raises(Refused) as caught:
        sign(yard, attempt, password_checked=False)
    assert caught.value.field == "password"
    assert not Decision.objects.exists()


@pytest.mark.django_db
def test_a_decided_attempt_is_not_signed_again() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    score_all(attempt, yard.instructor)
    sign(yard, attempt)
    with pytest.raises(Refused, match="signed off already"):
        sign(yard, attempt, actor=yard.lead)


@pytest.mark.django_db
def test_a_measurement_within_the_guard_band_waits_for_a_second() -> None:
    yard = make_yard(pass_rule={**ONE_ASSESSOR, "cut": "1"})
    attempt = yard.attempt()
    at_the_limit = readings(("1/16", "1/16", "in"), ("1/8", "1/8", "in"))
    score_all(attempt, yard.instructor, C2=at_the_limit)
    with pytest.raises(Refused, match="second assessor"):
        sign(yard, attempt)


@pytest.mark.faults
@pytest.mark.django_db(transaction=True)
def test_two_sign_offs_at_once_make_one_decision() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    score_all(attempt, yard.instructor)
    signers = (yard.instructor, yard.lead)

    def work(number: int) -> str:
        try:
            return sign(yard, attempt, actor=signers[number]).result
        except Refused as refusal:
            return refusal.message

    assert sorted(at_once(work)) == [
        "This attempt is signed off already. Reload the page to see its result.",
        "met",
    ]
    assert Decision.objects.count() == 1


@pytest.mark.faults
@pytest.mark.django_db(transaction=True)
def test_a_score_at_the_moment_of_signing_is_in_the_decision_or_refused() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    score_all(attempt, yard.instructor)
    late = event(attempt, "C1", {"level": 1})

    def work(number: int) -> str:
        try:
            if number:
                return str(record_observation(actor=yard.lead, event=late).pk)
            return sign(yard, attempt).result
        except Refused:
            return "refused"

    results = at_once(work)
    decision = Decision.objects.get()
    stored = [row["id"] for row in decision.observations["observations"]]
    assert (results[1] == "refused") == (late["id"] not in stored)
    assert decision.observations == observations_document(attempt)


@pytest.fixture
def files(tmp_path: Path) -> tuple[Path, Path]:
    """A standard and the observations of a good piece, as files."""
    standard = standard_document(Program(code="P-1", version=1, title="Dutchman repair"))
    rows = [("criterion", key, value) for key, value in GOOD.items()]
    rows.append(("hold_point", "fit", {"accepted": True}))
    observations = {
        "schema": "bankermark/observations/1",
        "attempt": "a",
        "observations": [
            {
                "id": key,
                "subject": {"kind": kind, "key": key},
                "assessor": "1",
                "value": value,
                "note": "",
                "replaces": None,
            }
            for kind, key, value in rows
        ],
    }
    paths = tmp_path / "standard.json", tmp_path / "observations.json"
    for path, document in zip(paths, (standard, observations), strict=True):
        path.write_text(json.dumps(document), encoding="utf-8")
    return paths


def test_decide_from_files_without_a_database(
    files: tuple[Path, Path], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse() -> None:
        raise OperationalError("no database here")

    monkeypatch.setattr(connection, "connect", refuse)
    call_command("decide", *map(str, files))
    assert json.loads(capsys.readouterr().out)["result"] == "met"


def test_decide_says_what_is_wrong_with_a_file(
    files: tuple[Path, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    files[1].write_text('{"schema": 0.5}', encoding="utf-8")
    with pytest.raises(SystemExit) as left:
        call_command("decide", *map(str, files))
    assert left.value.code == 3
    assert str(files[1]) in capsys.readouterr().err

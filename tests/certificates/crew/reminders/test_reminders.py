"""Who is told of what, how many days ahead, and only once.

The days ahead (90, 30 and 7; 30 and 7) are the product's own. All people and firms are invented.
"""

import smtplib
from datetime import UTC, date, datetime, timedelta
from unittest import mock

import pytest
from django.core import mail
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from certificates.actions.continuity import confirm_work
from certificates.actions.reminders import Sent, send_reminders
from certificates.actions.status.changes import suspend_record
from certificates.models import Record, Reminder
from certificates.queries.reminding import items_by_person, step
from tests.assessments.builders import at_once
from tests.certificates.crew.builders import course, crew_member, firm, record_for
from tests.certificates.crew.clock import at
from tests.factories import make_role
from training.models import Employment, Person, Role

ISSUED = datetime(2026, 10, 1, 15, tzinfo=UTC)
LAST = date(2027, 10, 1)


def noon(day: date) -> datetime:
    """Return about noon of the day in New York."""
    return datetime(day.year, day.month, day.day, 17, tzinfo=UTC)


@pytest.fixture
def record(db: None) -> Record:
    """Return a record valid for a year, whose holder works for a firm with one manager."""
    organisation, _ = firm()
    mason = crew_member(organisation, "Aranka Felsőházi")
    return record_for(mason, course(), issued_at=ISSUED, valid_until=LAST)


def manager_of(record: Record) -> Person:
    """Return the manager of the holder's firm."""
    role = Role.objects.get(
        organisation__employments__person=record.holder, kind=Role.Kind.CONTRACTOR
    )
    return role.person


def told() -> dict[str, str]:
    """Return subject and text by address, and empty the box."""
    found = {message.to[0]: f"{message.subject}\n{message.body}" for message in mail.outbox}
    assert len(found) == len(mail.outbox), "somebody got two e-mails in one run"
    mail.outbox.clear()
    return found


@pytest.mark.parametrize(
    ("days", "step_of_it"),
    [(91, None), (90, 90), (31, 90), (30, 30), (8, 30), (7, 7), (0, 7), (-1, None)],
)
def test_a_lapse_is_told_at_90_30_and_7_days(
    record: Record, days: int, step_of_it: int | None
) -> None:
    with at(noon(LAST - timedelta(days=days))):
        sent = send_reminders()
    assert sent == (Sent() if step_of_it is None else Sent(mails=2, reminders=2))
    assert set(told()) == (
        set() if step_of_it is None else {record.holder.email, manager_of(record).email}
    )
    steps = set(Reminder.objects.values_list("due_on", "days_ahead"))
    assert steps == (set() if step_of_it is None else {(LAST, step_of_it)})


def test_every_step_is_told_once_however_often_it_runs(record: Record) -> None:
    mails = 0
    for days in (100, 91, 90, 89, 31, 30, 29, 8, 7, 6, 0, -1):
        with at(noon(LAST - timedelta(days=days))):
            mails += send_reminders().mails
            assert send_reminders() == Sent()
    assert mails == 3 * 2
    assert Reminder.objects.count() == 3 * 2


def test_days_that_were_missed_are_made_up_for_by_the_nearest_step_alone(record: Record) -> None:
    for days, mails in ((84, 2), (6, 2), (5, 0)):
        with at(noon(LAST - timedelta(days=days))):
            assert send_reminders().mails == mails
    assert set(Reminder.objects.values_list("days_ahead", flat=True)) == {90, 7}


def test_the_text_says_who_what_and_when(record: Record) -> None:
    with at(noon(LAST - timedelta(days=30))):
        send_reminders()
    texts = told()
    own, crew = texts[record.holder.email], texts[manager_of(record).email]
    line = "Last day of validity: 1 October 2027 (in 30 days)."
    assert line in own
    assert line in crew
    assert own.startswith("1 record lapses soon\n")
    assert record.number in own
    assert "Aranka Felsőházi: Dutchman repair" in crew
    assert "/crew/" in crew
    assert "/crew/" not in own


def test_one_e_mail_tells_of_all(record: Record) -> None:
    manager = manager_of(record)
    organisation = manager.roles.get().organisation
    for name in ("Ilse Vantongeren", "Noor Adriaanse"):
        record_for(crew_member(organisation, name), course(), issued_at=ISSUED, valid_until=LAST)
    # The manager is a mason as well, on the own crew, and is told of the own record once.
    Employment.objects.create(person=manager, organisation=organisation, since="2026-01-05")
    own = record_for(manager, course(), issued_at=ISSUED, valid_until=LAST)
    with at(noon(LAST - timedelta(days=7))):
        send_reminders()
    texts = told()
    assert len(texts) == 4
    assert texts[manager.email].startswith("4 records lapse soon\n")
    assert texts[manager.email].count(own.number) == 1


def test_the_day_is_that_of_the_site(db: None) -> None:
    # 2027-09-02T11:00 UTC is 3 September in Auckland no sooner than at 12:00 (+12 until 26
    # September), and 2 September still in Honolulu (-10); IANA time zone database.
    people = {}
    for zone in ("Pacific/Auckland", "Pacific/Honolulu"):
        people[zone] = crew_member(firm()[0])
        program = course(zone=zone)
        record_for(people[zone], program, issued_at=ISSUED, valid_until=date(2027, 12, 2))
    with at("2027-09-02T12:00"):  # 90 days before 2 December is 3 September
        send_reminders()
    addresses = set(told())
    assert people["Pacific/Auckland"].email in addresses
    assert people["Pacific/Honolulu"].email not in addresses
    with at("2027-09-03T09:59"):
        assert send_reminders().mails == 0
    with at("2027-09-03T10:00"):
        assert send_reminders().mails == 2
    assert people["Pacific/Honolulu"].email in told()


def test_a_leap_day_is_counted(db: None) -> None:
    mason = crew_member(firm()[0])
    record_for(mason, course(), issued_at=ISSUED, valid_until=date(2028, 3, 1))
    with at("2028-02-22T17:00"):  # eight days before, since 2028 has a 29 February
        send_reminders()
    assert set(Reminder.objects.values_list("days_ahead", flat=True)) == {30}
    with at("2028-02-23T17:00"):
        send_reminders()
    assert set(Reminder.objects.values_list("days_ahead", flat=True)) == {30, 7}


def test_confirmations_are_told_at_30_and_7_days_and_once_in_grace(db: None) -> None:
    organisation, manager = firm()
    mason = crew_member(organisation)
    record = record_for(mason, course(continuity=(6, 30)), issued_at=ISSUED)
    due = date(2027, 4, 1)
    seen = []
    for days in range(35, -33, -1):
        with at(noon(due - timedelta(days=days))):
            if send_reminders().mails:
                seen.append(days)
                text = told()[manager.email]
    assert seen == [30, 7, -1]
    assert "Overdue: work up to 1 April 2027" in text
    assert "signed until 1 May 2027" in text
    assert set(Reminder.objects.values_list("kind", "record")) == {("confirmation", record.pk)}


def test_once_confirmed_nothing_more_is_told_until_the_next_is_due(db: None) -> None:
    organisation, manager = firm()
    mason = crew_member(organisation)
    record = record_for(mason, course(continuity=(6, 30)), issued_at=ISSUED)
    with at("2027-03-02T17:00"):
        assert send_reminders().mails == 2
        confirm_work(
            actor=manager, record=record, worked_on=date(2027, 3, 1), project_name="Granary"
        )
    with at("2027-03-28T17:00"):
        assert send_reminders() == Sent()
    with at("2027-08-02T17:00"):  # 30 days before 1 September
        assert send_reminders().mails == 2


def test_whoever_left_is_told_and_the_former_employer_is_not(record: Record) -> None:
    manager = manager_of(record)
    day = LAST - timedelta(days=30)
    Employment.objects.update(until=day - timedelta(days=1))
    with at(noon(day)):
        send_reminders()
    assert set(told()) == {record.holder.email}
    other, successor = firm()
    Employment.objects.create(
        person=record.holder, organisation=other, since=day + timedelta(days=1)
    )
    with at(noon(day + timedelta(days=1))):
        send_reminders()
    assert set(told()) == {successor.email}
    assert not Reminder.objects.filter(person=manager).exists()


def test_nothing_is_told_of_a_record_that_does_not_stand(record: Record) -> None:
    lead = make_role("lead", record.provider)
    with at(noon(LAST - timedelta(days=30))):
        suspend_record(actor=lead, record=record, reason="The photographs are doubtful.")
        assert send_reminders() == Sent()


def test_whoever_cannot_sign_in_is_not_told(record: Record) -> None:
    Person.objects.filter(pk=record.holder_id).update(is_active=False)
    with at(noon(LAST - timedelta(days=30))):
        send_reminders()
    assert set(told()) == {manager_of(record).email}


def test_what_a_mail_server_refuses_is_sent_by_the_next_run(
    record: Record, capsys: pytest.CaptureFixture[str]
) -> None:
    holder = record.holder.email

    def refuse(subject: str, text: str, sender: None, to: list[str]) -> int:
        if to == [holder]:
            raise smtplib.SMTPRecipientsRefused({})
        return mail.send_mail(subject, text, sender, to)

    with at(noon(LAST - timedelta(days=30))):
        with (
            mock.patch("certificates.actions.reminders.send_mail", refuse),
            pytest.raises(CommandError, match="1 could not be sent"),
        ):
            call_command("remind")
        assert set(told()) == {manager_of(record).email}
        assert not Reminder.objects.filter(person=record.holder).exists()
        call_command("remind")
    assert set(told()) == {holder}
    assert "1 e-mail sent, telling of 1 in all." in capsys.readouterr().out


@pytest.mark.django_db(transaction=True)
@pytest.mark.faults
def test_two_runs_at_once_tell_once() -> None:
    mason = crew_member(firm()[0])
    record_for(mason, course(), issued_at=ISSUED, valid_until=LAST)
    with at(noon(LAST - timedelta(days=30))):
        runs = at_once(lambda number: send_reminders())
    assert sum(run.mails for run in runs) == 2
    assert Reminder.objects.count() == 2
    assert len(mail.outbox) == 2


def test_queries_do_not_grow_with_records(record: Record) -> None:
    def queries() -> int:
        with (
            at(noon(LAST - timedelta(days=30))),
            CaptureQueriesContext(connection) as found,
        ):
            assert items_by_person()
        return len([each for each in found if each["sql"].startswith(("SELECT", "WITH", "\nWITH"))])

    one = queries()
    organisation = manager_of(record).roles.get().organisation
    for _ in range(2):
        record_for(crew_member(organisation), course(), issued_at=ISSUED, valid_until=LAST)
    assert queries() == one


def test_step_is_that_of_the_kind() -> None:
    lapse, confirmation = Reminder.Kind.LAPSE, Reminder.Kind.CONFIRMATION
    assert [step(lapse, days) for days in (91, 60, 30, 1)] == [None, 90, 30, 7]
    assert [step(confirmation, days) for days in (60, 30, 7, -1)] == [None, 30, 7, None]

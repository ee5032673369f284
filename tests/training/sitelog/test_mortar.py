"""Batches and curing: their clocks to the minute, who may, what waits, and what is refused."""

from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import PermissionDenied
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from tests.training.sitelog.builders import batch, curing, during
from tests.training.yard import Yard, make_yard
from training.actions.sitelog import discard_batch, end_curing
from training.errors import Refused
from training.models import Curing, MortarBatch, Person
from training.queries.scope import roles_of
from training.queries.sitelog_clocks import batch_clock, curing_clock, in_words
from training.queries.sitelog_mortar import batches_of, proposed_label
from training.queries.sitelog_todo import (
    log_to_write,
    mortar_to_throw_away,
    protection_to_look_at,
)

pytestmark = pytest.mark.django_db
AT = datetime(2026, 11, 3, 9, 0, tzinfo=UTC)
HOUR, MINUTE = timedelta(hours=1), timedelta(minutes=1)


@pytest.fixture
def yard(db: None) -> Yard:
    """Return a yard whose run is on today."""
    made = make_yard()
    during(made.run)
    return made


def browser(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client


# Worked by hand: mixed at 9:00 with 90 minutes, so it ends at 10:30.
@pytest.mark.parametrize(
    ("now", "state", "word"),
    [
        (AT, "working", "90 minutes left"),
        (AT + timedelta(minutes=74, seconds=59), "working", "15 minutes left"),
        (AT + timedelta(minutes=75), "soon", "15 minutes left: use it up or throw it away"),
        (AT + timedelta(minutes=89, seconds=30), "soon", "less than a minute left: use"),
        (AT + timedelta(minutes=90), "over", "Throw away: its working life ended"),
        (AT + timedelta(minutes=95), "over", "Throw away: its working life ended 5 minutes ago"),
        (AT + timedelta(hours=27), "over", "ended 25 hours 30 minutes ago"),
    ],
)
def test_the_clock_of_a_batch(now: datetime, state: str, word: str) -> None:
    clock = batch_clock(MortarBatch(mixed_at=AT, working_minutes=90), now)
    assert clock.state == state
    assert word in clock.word
    assert (clock.tone, clock.shape) == {
        "working": ("good", "check"),
        "soon": ("doubt", "half"),
        "over": ("bad", "stop"),
    }[state]


def test_a_batch_that_is_gone_has_no_clock() -> None:
    gone = MortarBatch(mixed_at=AT, working_minutes=90, discarded_at=AT + HOUR)
    clock = batch_clock(gone, AT + 5 * HOUR)
    assert (clock.state, clock.runs) == ("gone", False)


@pytest.mark.parametrize(
    ("now", "ended", "state", "word"),
    [
        (AT + HOUR, None, "cures", "Keep protected: 71 hours left"),
        (AT + 72 * HOUR - MINUTE, None, "cures", "Keep protected: 1 minute left"),
        (AT + 72 * HOUR, None, "due", "72 hours are over: look at it"),
        (AT + 80 * HOUR, AT + 72 * HOUR, "ended", "Protection off after 72 hours"),
        (AT + 80 * HOUR, AT + 71 * HOUR, "early", "too early: after 71 of 72 hours"),
    ],
)
def test_the_clock_of_a_curing(
    now: datetime, ended: datetime | None, state: str, word: str
) -> None:
    clock = curing_clock(Curing(started_at=AT, hours=72, ended_at=ended), now)
    assert clock.state == state
    assert word in clock.word


def test_lengths_in_words() -> None:
    lengths = [0, 1, 2, 119, 120, 121, 60 * 49]
    assert [in_words(timedelta(minutes=number)) for number in lengths] == [
        "less than a minute", "1 minute", "2 minutes", "119 minutes",
        "2 hours", "2 hours 1 minute", "49 hours",
    ]  # fmt: skip


def test_labels_are_proposed_and_given_once_a_run(yard: Yard) -> None:
    assert proposed_label(yard.run) == "B1"
    batch(yard.teacher, yard.run, label="b2")
    assert proposed_label(yard.run) == "B3"
    batch(yard.teacher, yard.run, label="Grout")
    assert proposed_label(yard.run) == "B3"
    with pytest.raises(Refused) as refused:
        batch(yard.teacher, yard.run, label="B2")
    assert refused.value.field == "label"


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"label": " "}, "label"),
        ({"mix": ""}, "mix"),
        ({"source": ""}, "source"),
        ({"working_minutes": 0}, "working_minutes"),
        ({"working_minutes": 10_081}, "working_minutes"),
        ({"mixed_at": timezone.now() + HOUR}, "mixed_at"),
    ],
)
def test_a_batch_that_cannot_be_is_refused_at_its_field(
    yard: Yard, changes: dict[str, Any], field: str
) -> None:
    with pytest.raises(Refused) as refused:
        batch(yard.teacher, yard.run, **changes)
    assert refused.value.field == field


def test_trainees_and_strangers_mix_throw_away_and_protect_nothing(yard: Yard) -> None:
    made, cures = batch(yard.teacher, yard.run), curing(yard.teacher, yard.run)
    for actor in (yard.trainee, yard.manager, yard.other_teacher, yard.stranger):
        for act in (
            lambda actor=actor: batch(actor, yard.run, label="B9"),
            lambda actor=actor: curing(actor, yard.run),
            lambda actor=actor: discard_batch(actor=actor, batch=made),
            lambda actor=actor: end_curing(actor=actor, curing=cures, early=True),
        ):
            with pytest.raises(PermissionDenied):
                act()


def test_a_batch_is_thrown_away_once(yard: Yard) -> None:
    made = batch(yard.teacher, yard.run)
    assert discard_batch(actor=yard.teacher, batch=made).discarded_at is not None
    with pytest.raises(Refused, match="recorded already"):
        discard_batch(actor=yard.teacher, batch=made)


def test_curing_ends_early_only_knowingly(yard: Yard) -> None:
    cures = curing(yard.teacher, yard.run, started_at=timezone.now() - 20 * HOUR - MINUTE)
    with pytest.raises(Refused, match="Only 20 of 72 hours are over") as refused:
        end_curing(actor=yard.teacher, curing=cures)
    assert refused.value.field == "early"
    end_curing(actor=yard.teacher, curing=cures, early=True)
    with pytest.raises(Refused, match="recorded already"):
        end_curing(actor=yard.teacher, curing=cures, early=True)


def test_curing_ends_without_a_word_once_the_hours_are_over(yard: Yard) -> None:
    cures = curing(yard.teacher, yard.run, started_at=timezone.now() - HOUR, hours=1)
    assert end_curing(actor=yard.teacher, curing=cures).ended_at is not None


def test_a_batch_of_another_run_or_mixed_later_does_not_cure_here(yard: Yard) -> None:
    during(yard.other_run)
    other = batch(yard.other_teacher, yard.other_run)
    with pytest.raises(Refused) as refused:
        curing(yard.teacher, yard.run, batch=other)
    assert refused.value.field == "batch"
    own = batch(yard.teacher, yard.run)
    with pytest.raises(Refused) as refused:
        curing(yard.teacher, yard.run, batch=own, started_at=own.mixed_at - MINUTE)
    assert refused.value.field == "started_at"


def test_what_waits_is_told_to_who_keeps_the_log(yard: Yard) -> None:
    now = timezone.now()
    batch(yard.teacher, yard.run, label="Over", mixed_at=now - 2 * HOUR)
    batch(yard.teacher, yard.run, label="Good")
    curing(yard.teacher, yard.run, what="Old", started_at=now - 2 * HOUR, hours=2)
    curing(yard.teacher, yard.run, what="New")
    for person in (yard.teacher, yard.lead):
        roles = roles_of(person)
        assert [todo.title.split(" at ")[0] for todo in mortar_to_throw_away(person, roles)] == [
            "Throw away batch Over"
        ]
        assert [todo.title.split(" at C4")[0] for todo in protection_to_look_at(person, roles)] == [
            "Look at what cured: Old",
            "Keep protected: New",
        ]
    for person in (yard.trainee, yard.other_teacher, yard.manager):
        roles = roles_of(person)
        assert not [*mortar_to_throw_away(person, roles), *protection_to_look_at(person, roles)]


def test_a_trainee_is_led_to_the_log_while_the_run_is_on(yard: Yard) -> None:
    roles = roles_of(yard.trainee)
    assert [todo.url for todo in log_to_write(yard.trainee, roles)] == [
        reverse("run_log", args=[yard.run.pk])
    ]
    yard.run.state = "closed"
    yard.run.save()
    assert not list(log_to_write(yard.trainee, roles))


def test_the_page_shows_clocks_cautions_and_sources(yard: Yard) -> None:
    batch(yard.teacher, yard.run, mixed_at=timezone.now() - 2 * HOUR)
    curing(yard.teacher, yard.run)
    shown = browser(yard.teacher).get(reverse("run_mortar", args=[yard.run.pk])).content.decode()
    assert "Throw away: its working life ended" in shown
    assert "Source: Data sheet 7 of the yard" in shown
    assert "burn skin and eyes" in shown
    assert "29 CFR 1926.1153" in shown
    assert "Local codes and the judgement of a licensed professional come first" in shown
    read = browser(yard.trainee).get(reverse("run_mortar", args=[yard.run.pk])).content.decode()
    assert "Nothing is left" not in read
    assert "Throw away" in read


def test_the_page_takes_as_many_queries_for_three_as_for_one(yard: Yard) -> None:
    client, page = browser(yard.teacher), reverse("run_mortar", args=[yard.run.pk])

    def queries() -> int:
        with CaptureQueriesContext(connection) as captured:
            assert client.get(page).status_code == 200
        return len(captured)

    curing(yard.teacher, yard.run, batch=batch(yard.teacher, yard.run), started_at=timezone.now())
    queries()  # the first look of a session stores it
    once = queries()
    for label in ("B2", "B3"):
        made = batch(yard.teacher, yard.run, label=label)
        curing(yard.teacher, yard.run, batch=made, started_at=timezone.now())
    assert queries() == once
    assert [row.batch.label for row in batches_of(yard.run, timezone.now())] == ["B1", "B2", "B3"]


def test_mixing_on_the_page(yard: Yard) -> None:
    client, page = browser(yard.teacher), reverse("run_mortar_mix", args=[yard.run.pk])
    assert client.get(page).context["form"].initial["label"] == "B1"
    local = timezone.now().astimezone(ZoneInfo(yard.run.site.time_zone))
    sent = {
        "label": "B1",
        "mix": "Lime putty",
        "mixed_at": f"{local:%Y-%m-%dT%H:%M}",
        "working_minutes": "ninety",
        "source": "Data sheet 7",
    }
    answer = client.post(page, sent)
    assert answer.status_code == 422
    assert answer.context["form"].errors["working_minutes"] == ["Write a whole number."]
    assert "Data sheet 7" in answer.content.decode()


@pytest.mark.parametrize(
    "name", ["run_mortar", "run_mortar_mix", "run_curing_begin", "curing_end", "batch_discard"]
)
def test_who_may_not_see_the_run_gets_404_and_who_may_not_write_403(yard: Yard, name: str) -> None:
    made, cures = batch(yard.teacher, yard.run), curing(yard.teacher, yard.run)
    key = {"curing_end": cures.pk, "batch_discard": made.pk}.get(name, yard.run.pk)
    address = reverse(name, args=[key])
    method = "post" if name == "batch_discard" else "get"
    for person, status in (
        (yard.manager, 404),
        (yard.stranger, 404),
        (yard.other_teacher, 404),
        (yard.trainee, 200 if name == "run_mortar" else 403),
    ):
        assert getattr(browser(person), method)(address).status_code == status


def test_the_site_s_clock_counts_on_the_page(yard: Yard) -> None:
    yard.run.site.time_zone = "Pacific/Auckland"
    yard.run.site.save()
    zone = ZoneInfo("Pacific/Auckland")
    mixed = (timezone.now() - HOUR).astimezone(zone).replace(second=0, microsecond=0)
    sent = {
        "label": "B1",
        "mix": "Lime putty",
        "mixed_at": f"{mixed:%Y-%m-%dT%H:%M}",
        "working_minutes": "90",
        "source": "Data sheet 7",
    }
    client = browser(yard.teacher)
    page = reverse("run_mortar_mix", args=[yard.run.pk])
    assert client.post(page, sent).status_code == 302
    assert MortarBatch.objects.get().mixed_at == mixed

"""Sessions proposed from a program's modules: every minute finds its place, nothing overlaps."""

from collections import Counter
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.training.calendar.planning import at, bay, module, planned, signed_in
from tests.training.yard import Yard
from training.models import Session
from training.packing import SHORTEST, Piece, pack

START = datetime(2026, 11, 2, 13, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


def packed(
    minutes: list[int], spans: list[tuple[datetime, datetime]]
) -> tuple[list[Piece] | None, int]:
    """Return the pieces, or None, and the minutes that found no room."""
    try:
        return pack(minutes, spans), 0
    except ValueError as error:
        missing: int = error.args[0]
        return None, missing


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.integers(1, 400), max_size=8),
    st.lists(st.tuples(st.integers(0, 300), st.integers(1, 400)), max_size=8),
)
def test_pieces_hold_every_minute_once(minutes: list[int], gaps: list[tuple[int, int]]) -> None:
    spans, clock = [], START
    for gap, length in gaps:
        spans.append((clock + gap * MINUTE, clock + (gap + length) * MINUTE))
        clock = spans[-1][1]
    pieces, missing = packed(minutes, spans)
    if pieces is None:
        # There is no room for what is told to be missing that is worth a piece.
        room = sum((end - start for start, end in spans), timedelta()) // MINUTE
        assert 0 < missing <= sum(minutes)
        assert sum(minutes) > room - len(spans) * (SHORTEST // MINUTE)
        return
    taught: Counter[int] = Counter()
    for piece in pieces:
        taught[piece.index] += (piece.ends_at - piece.starts_at) // MINUTE
        assert any(start <= piece.starts_at < piece.ends_at <= end for start, end in spans)
    assert [taught[index] for index in range(len(minutes))] == minutes
    for one, following in pairwise(pieces):
        assert one.ends_at <= following.starts_at
        assert one.index <= following.index


HOURS = {"starts": "08:00", "break_from": "12:00", "break_to": "13:00", "ends": "16:00"}


def hidden(rows: list[dict[str, Any]], **fields: Any) -> dict[str, Any]:
    """Return the proposal as the page sends it back."""
    data: dict[str, Any] = {"form-TOTAL_FORMS": len(rows), "form-INITIAL_FORMS": len(rows)}
    for number, row in enumerate(rows):
        data |= {f"form-{number}-{name}": value for name, value in row.items() if value}
    return data | fields


@pytest.mark.django_db
class TestPages:
    """The two pages: asking for hours, and looking over what comes of them."""

    @pytest.fixture
    def url(self, yard: Yard) -> str:
        """Return the address, for a program of three modules of 300 minutes."""
        for position in (1, 2, 3):
            module(yard, position, minutes=300)
        return reverse("sessions_propose", args=[yard.run.pk])

    @pytest.fixture
    def lead(self, yard: Yard) -> Client:
        """Return a client of the lead."""
        return signed_in(yard.lead)

    def proposal(self, lead: Client, url: str, **fields: Any) -> list[dict[str, Any]]:
        """Return the rows that are proposed for three days."""
        data = {**HOURS, "days": ["2026-11-02", "2026-11-03", "2026-11-04"], **fields}
        answer = lead.post(url, data)
        assert answer.status_code == 200, answer.context["form"].errors
        assert Session.objects.count() == 0
        return [form.initial for form in answer.context["formset"]]

    def test_modules_are_packed_into_the_hours_and_saved(
        self, yard: Yard, lead: Client, url: str
    ) -> None:
        rows = self.proposal(lead, url, instructors=[yard.teacher.pk], place=bay(yard).pk)
        saved = lead.post(url, hidden(rows), follow=True)
        assert "7 sessions are planned." in saved.text
        # Worked by hand: 240 and 180 minutes a day, 300 a module.
        assert [
            (each.module.key if each.module else "", each.starts_at, each.ends_at)
            for each in Session.objects.select_related("module")
        ] == [
            ("M1", at(2, 8), at(2, 12)),
            ("M1", at(2, 13), at(2, 14)),
            ("M2", at(2, 14), at(2, 16)),
            ("M2", at(3, 8), at(3, 11)),
            ("M3", at(3, 11), at(3, 12)),
            ("M3", at(3, 13), at(3, 16)),
            ("M3", at(4, 8), at(4, 9)),
        ]

    def test_too_few_hours_are_said_with_what_is_missing(
        self, yard: Yard, lead: Client, url: str
    ) -> None:
        answer = lead.post(url, {**HOURS, "days": ["2026-11-02"]})
        assert answer.status_code == 422
        assert "480 minutes short" in answer.context["form"].errors["days"][0]

    @pytest.mark.parametrize(
        ("fields", "field"),
        [
            ({"days": []}, "days"),
            ({"ends": "07:00"}, "ends"),
            ({"break_to": "11:00"}, "break_to"),
            ({"break_from": "07:00"}, "break_from"),
            ({"starts": "x"}, "starts"),
        ],
    )
    def test_hours_out_of_order_are_said(
        self, yard: Yard, lead: Client, url: str, fields: dict[str, Any], field: str
    ) -> None:
        data = {**HOURS, "days": ["2026-11-02"], **fields}
        assert list(lead.post(url, data).context["form"].errors) == [field]

    def test_a_clash_is_said_at_its_row_and_nothing_is_saved(
        self, yard: Yard, lead: Client, url: str
    ) -> None:
        place = bay(yard)
        rows = self.proposal(lead, url, place=place.pk)
        planned(yard, 3, 9, 10, place=place, title="In the way")
        answer = lead.post(url, hidden(rows))
        assert answer.status_code == 422
        faulty = [form.errors for form in answer.context["formset"]]
        assert "Bay 3 is taken by “In the way”" in faulty[3]["place"][0]
        assert sum(map(bool, faulty)) == 1
        assert "Session 4" in answer.text
        assert Session.objects.count() == 1
        again = hidden(rows, **{"form-3-leave_out": "on", "form-3-day": "never"})
        assert "6 sessions are planned." in lead.post(url, again, follow=True).text

    def test_what_was_changed_by_hand_is_kept_when_refused(
        self, yard: Yard, lead: Client, url: str
    ) -> None:
        rows = self.proposal(lead, url)
        answer = lead.post(url, hidden(rows, **{"form-0-title": "By hand", "form-1-ends": "late"}))
        assert answer.status_code == 422
        forms = answer.context["formset"].forms
        assert forms[0]["title"].value() == "By hand"
        assert "hours:minutes" in forms[1].errors["ends"][0]
        out = {f"form-{number}-leave_out": "on" for number in range(len(rows))}
        assert "Every session is left out" in lead.post(url, hidden(rows, **out)).text
        broken = lead.post(url, {"form-TOTAL_FORMS": "many"})
        assert broken.status_code == 422

    def test_a_program_without_modules_is_said(self, yard: Yard, lead: Client) -> None:
        url = reverse("sessions_propose", args=[yard.run.pk])
        answer = lead.post(url, {**HOURS, "days": ["2026-11-02"]})
        assert "This program has no modules" in answer.text

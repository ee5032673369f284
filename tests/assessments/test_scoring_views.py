"""The scoring pages: what an assessor types is kept, stored once, corrected and taken back."""

import re
import uuid
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from assessments.models import Attempt, Observation, PracticalTask
from tests.assessments.builders import GOOD, Yard, make_yard, score_all
from tests.factories import make_person

pytestmark = pytest.mark.django_db

# Forms of the same length as people write it; 1 in = 25.4 mm exactly (NIST SP 811, app. B).
AN_EIGHTH = ["1/8", '1/8"', "1/8 in", "0.125", "⅛", "3.175 mm"]


def words(response: Any) -> str:
    """Return the page with its no-break spaces as plain ones."""
    text: str = response.content.decode()
    return text.replace("&nbsp;", " ")


class Page:
    """A signed-in browser on the scoring pages of one attempt."""

    def __init__(self, yard: Yard, attempt: Attempt, person: Any = None) -> None:
        self.client = Client()
        self.client.force_login(person or yard.instructor)
        self.attempt = attempt

    def address(self, key: str, kind: str = "criterion") -> str:
        return reverse("attempt_score_subject", args=[self.attempt.pk, kind, key])

    def see(self, key: str, kind: str = "criterion") -> str:
        return words(self.client.get(self.address(key, kind)))

    def hidden(self, page: str) -> dict[str, str]:
        found = re.findall(r'name="(observation_id|replaces)" value="([^"]*)"', page)
        # The first form is the one for entering; a second takes back.
        return dict(reversed(found))

    def send(self, key: str, kind: str = "criterion", **entered: str) -> Any:
        hidden = self.hidden(self.see(key, kind))
        return self.client.post(self.address(key, kind), {**hidden, **entered})


@pytest.fixture
def yard() -> Yard:
    return make_yard()


@pytest.fixture
def page(yard: Yard) -> Page:
    return Page(yard, yard.attempt())


def only() -> Observation:
    return Observation.objects.get()


def test_the_overview_lists_stages_and_what_is_next(yard: Yard, page: Page) -> None:
    PracticalTask.objects.create(
        program=yard.program,
        title="One dutchman",
        cautions=[{"hazard": "dust", "text": "Cut wet.", "source": "the site's plan"}],
    )
    address = reverse("attempt_score", args=[page.attempt.pk])
    shown = words(page.client.get(address))
    assert "Dust: Cut wet." in shown
    assert "Local codes" in shown
    assert "Start: Criterion C1" in shown
    assert shown.index("Dry fit") < shown.index("Criterion C1") < shown.index("Hold point: Dry fit")
    assert shown.index("Hold point: Dry fit") < shown.index("Criterion C3")
    page.send("C1", level="2")
    shown = words(page.client.get(address))
    assert "Go on: Criterion C2" in shown
    assert "✓ Met" in shown


@pytest.mark.parametrize("typed", AN_EIGHTH)
def test_a_length_may_be_typed_in_many_ways(page: Page, typed: str) -> None:
    response = page.send("C2", reading_0=typed, reading_1='1/8"')
    assert response.status_code == 302
    first = only().value["readings"][0]
    assert first["typed"] == typed
    assert (first["value"], first["unit"]) in [("1/8", "in"), ("0.125", "in"), ("3.175", "mm")]
    shown = page.see("C2")
    assert "✓ Met" in shown
    assert "<svg" in shown


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("1,5", "1.5"),
        ("1//2", "cannot be read"),
        ("-1/8", "negative"),
        ("1/0", "0 under the line"),
        ("5 kg", "write a length"),
        ("", "Write reading 1."),
    ],
)
def test_an_error_stands_at_its_reading_and_everything_typed_is_kept(
    page: Page, typed: str, says: str
) -> None:
    response = page.send("C2", reading_0='1-1/2"', reading_1=typed, note="Gap at the heel")
    shown = response.content.decode()
    assert response.status_code == 422
    form = response.context["form"]
    assert list(form.errors) == ["reading_1"]
    assert says.replace("reading 1", "reading 2") in form.errors["reading_1"][0]
    assert 'value="1-1/2&quot;"' in shown
    if typed:
        assert f'value="{typed}"' in shown
    assert "Gap at the heel</textarea>" in shown
    assert not Observation.objects.exists()


@pytest.mark.parametrize(
    ("key", "entered", "value", "says"),
    [
        ("C1", {"level": "2"}, {"level": 2}, "Level 2"),
        ("C1", {"level": "0"}, {"level": 0}, "Needed is level 1"),
        ("C3", {"answer": "yes"}, {"answer": True}, "Yes, as needed"),
        ("C4", {"count": "3"}, {"count": 3}, "2 too many"),
        (
            "C4",
            {"not_applicable": "yes", "reason": "No bed on this piece", "count": "9"},
            {"not_applicable": True, "reason": "No bed on this piece"},
            "Not applicable",
        ),
        (
            # In November the site's clock is five hours behind UTC (IANA time zone database).
            "C5",
            {"start": "2026-11-03T09:00", "end": "2026-11-03T09:20:00"},
            {"start": "2026-11-03T09:00:00-05:00", "end": "2026-11-03T09:20:00-05:00"},
            "Took 20 min",
        ),
        ("C5", {"start": "2026-11-03T09:00:00", "end": ""}, None, "the end is not noted"),
    ],
)
def test_each_kind_is_stored_and_its_result_said_at_once(
    page: Page, key: str, entered: dict[str, str], value: dict[str, Any] | None, says: str
) -> None:
    score_hold_point(page)
    response = page.send(key, **entered)
    assert response.status_code == 302
    stored = Observation.objects.get(subject_key=key)
    assert stored.value == (value or {"start": "2026-11-03T09:00:00-05:00"})
    shown = words(page.client.get(response["Location"]))
    assert says in shown
    assert "Next: " in shown


@pytest.mark.parametrize(
    ("key", "entered", "field"),
    [
        ("C1", {}, "level"),
        ("C1", {"level": "7"}, "level"),
        ("C3", {"answer": "maybe"}, "answer"),
        ("C4", {"count": ""}, "count"),
        ("C4", {"count": "two"}, "count"),
        ("C4", {"count": "-1"}, "count"),
        ("C4", {"not_applicable": "yes", "reason": " "}, "reason"),
        ("C5", {"start": "", "end": ""}, "start"),
        ("C5", {"start": "2026-11-03T09:00", "end": "2026-11-03T08:00"}, "end"),
        # At 02:30 on 8 March 2026 no clock in New York stands (IANA time zone database).
        ("C5", {"start": "2026-03-08T02:30", "end": ""}, "start"),
        ("C1", {"level": "1", "note": "x" * 2001}, "note"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(
    page: Page, key: str, entered: dict[str, str], field: str
) -> None:
    score_hold_point(page)
    response = page.send(key, **entered)
    assert response.status_code == 422
    assert list(response.context["form"].errors) == [field]
    assert not Observation.objects.filter(subject_key=key).exists()


def test_not_applicable_only_where_the_standard_allows_it(page: Page) -> None:
    assert 'name="not_applicable"' not in page.see("C1")
    response = page.send("C1", not_applicable="yes", reason="Not here")
    assert response.status_code == 422
    assert not Observation.objects.exists()


def test_a_critical_failure_says_what_to_do(page: Page) -> None:
    score_hold_point(page)
    page.send("C3", answer="no")
    shown = page.see("C3")
    assert "✕ Not met" in shown
    assert "This criterion is critical" in shown
    assert "stop the work" in shown


def test_the_guard_band_is_named(page: Page) -> None:
    page.send("C2", reading_0="1/16", reading_1="1/8")
    assert "◆ Within the guard band" in page.see("C2")


def test_a_form_sent_twice_is_stored_once(page: Page) -> None:
    entered = {**page.hidden(page.see("C1")), "level": "2", "note": "even"}
    for _ in range(2):
        response = page.client.post(page.address("C1"), entered)
        assert response.status_code == 302
    assert only().note == "even"


def test_a_form_sent_again_with_other_content_is_refused(page: Page) -> None:
    entered = {**page.hidden(page.see("C1")), "level": "2"}
    page.client.post(page.address("C1"), entered)
    response = page.client.post(page.address("C1"), {**entered, "level": "0"})
    assert response.status_code == 422
    assert "other content" in response.content.decode()
    assert only().value == {"level": 2}


def test_a_correction_supersedes_and_is_prefilled(page: Page) -> None:
    page.send("C2", reading_0='1/8"', reading_1="3.2 mm", note="first")
    shown = page.see("C2")
    assert 'value="1/8&quot;"' in shown
    assert 'value="3.2 mm"' in shown
    assert ">first</textarea>" in shown
    assert page.send("C2", reading_0="1/8", reading_1="1", note="second").status_code == 302
    first, second = Observation.objects.order_by("seq")
    assert second.replaces == first
    assert (first.seq, second.seq) == (1, 2)
    assert "✕ Not met" in page.see("C2")


def test_a_stale_window_is_told_and_keeps_what_was_typed(page: Page) -> None:
    page.send("C1", level="1")
    stale = page.hidden(page.see("C1"))
    page.send("C1", level="2")
    response = page.client.post(page.address("C1"), {**stale, "level": "0", "note": "hollow"})
    shown = response.content.decode()
    assert response.status_code == 422
    assert "corrected meanwhile" in shown
    assert "See what stands there now" in shown
    assert "hollow</textarea>" in shown
    assert Observation.objects.count() == 2


def test_undo_takes_back_and_scoring_goes_on_from_there(page: Page) -> None:
    page.send("C1", level="2")
    undo = re.search(r'"observation_id" value="([^"]+)">\s*<input[^>]*"replaces"', page.see("C1"))
    assert undo is not None
    last = str(only().pk)
    sent = {"undo": "yes", "observation_id": str(uuid.uuid4()), "replaces": last}
    response = page.client.post(page.address("C1"), sent, follow=True)
    assert "Taken back" in response.content.decode()
    assert "Take back what is recorded" not in page.see("C1")
    assert page.send("C1", level="1").status_code == 302
    values = [row.value for row in Observation.objects.order_by("seq")]
    assert values == [{"level": 2}, {"cleared": True}, {"level": 1}]


def test_a_later_stage_waits_for_the_hold_point(page: Page) -> None:
    shown = page.see("C3")
    assert "this waits for “Hold point: Dry fit”" in shown
    assert 'name="answer"' not in shown
    page.send("fit", "hold_point", accepted="no")
    assert "✕ Not accepted" in page.see("fit", "hold_point")
    assert "this waits for" in page.see("C3")
    page.send("fit", "hold_point", accepted="yes")
    shown = page.see("C3")
    assert "this waits for" not in shown
    assert 'name="answer"' in shown


def test_a_second_assessor_sees_no_scores_of_the_first(yard: Yard, page: Page) -> None:
    score_hold_point(page)
    page.send("C1", level="0", note="loose at the heel")
    second = Page(yard, page.attempt, yard.lead)
    shown = second.see("C1")
    assert "loose at the heel" not in shown
    assert "Not met" not in shown
    assert f"Accepted by {yard.instructor}" in second.see("fit", "hold_point")
    assert second.send("C1", level="2").status_code == 302


def test_a_second_assessor_in_the_middle_is_asked_to_finish_before_the_result(
    yard: Yard, page: Page
) -> None:
    score_hold_point(page)
    page.send("C1", level="0", note="loose at the heel")
    address = reverse("attempt_decide", args=[page.attempt.pk])
    asked = "Finish your own sheet first"
    assert asked not in page.client.get(address).content.decode()  # nobody else has scored
    second = Page(yard, page.attempt, yard.lead)
    assert asked not in second.client.get(address).content.decode()  # has not begun
    second.send("C1", level="2")
    shown = second.client.get(address).content.decode()
    assert asked in shown
    assert "loose at the heel" not in shown
    assert "loose at the heel" in second.client.get(f"{address}?look=yes").content.decode()


def test_who_may_score(yard: Yard, page: Page) -> None:
    overview = reverse("attempt_score", args=[page.attempt.pk])
    other = make_yard()
    for person, status in [
        (yard.trainee, 403),
        (other.instructor, 404),
        (other.lead, 404),
        (make_person(), 404),
    ]:
        visitor = Client()
        visitor.force_login(person)
        assert visitor.get(overview).status_code == status
        assert visitor.get(page.address("C1")).status_code == status
        sent = {"observation_id": str(uuid.uuid4()), "level": "2"}
        assert visitor.post(page.address("C1"), sent).status_code == status
    assert Client().get(overview).status_code == 302
    assert not Observation.objects.exists()


def test_unknown_subjects_are_not_found(page: Page) -> None:
    for kind, key in [("criterion", "C9"), ("hold_point", "set"), ("stage", "fit")]:
        assert page.client.get(page.address(key, kind)).status_code == 404


def test_a_signed_off_attempt_is_not_scored(yard: Yard, page: Page) -> None:
    score_all(page.attempt, yard.instructor)
    Attempt.objects.update(state="decided")
    response = page.client.post(
        page.address("C1"), {"observation_id": str(uuid.uuid4()), "level": "0"}, follow=True
    )
    assert "nothing more is scored" in response.content.decode()
    assert Observation.objects.count() == len(GOOD) + 1


@pytest.mark.parametrize("sent", [{}, {"observation_id": "17"}, {"undo": "yes"}])
def test_a_form_without_its_id_does_no_harm(page: Page, sent: dict[str, str]) -> None:
    response = page.client.post(page.address("C1"), {"level": "2", **sent}, follow=True)
    assert response.status_code in (200, 422)
    assert not Observation.objects.exists()


def test_pages_cost_the_same_with_more_scored(page: Page, yard: Yard) -> None:
    address = reverse("attempt_score", args=[page.attempt.pk])

    def cost() -> int:
        with CaptureQueriesContext(connection) as queries:
            assert page.client.get(address).status_code == 200
        return len(queries)

    before = cost()
    score_all(page.attempt, yard.instructor)
    assert cost() == before


def score_hold_point(page: Page) -> None:
    assert page.send("fit", "hold_point", accepted="yes").status_code == 302

"""Choosing parts, order, texts, photographs and captions; two editors at once lose nothing."""

from typing import Any
from urllib.parse import urlencode

import pytest
from django.core.exceptions import PermissionDenied
from django.test import Client
from django.urls import reverse

from assessments.actions.reports import Overtaken, ask_for_file, save_parts
from assessments.models import TrainingReport
from assessments.queries.trainingreport import desk_of, report_document, report_of
from assessments.trainingreport.choices import Choices, PartChoice, Picture, load_choices
from assessments.trainingreport.parts import PARTS
from tests.assessments.builders import Yard, at_once, make_yard
from tests.assessments.trainingreport.builders import choose, photograph, shown
from tests.factories import make_person
from training.errors import Refused
from training.models import LogEntry

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard() -> Yard:
    return make_yard()


@pytest.fixture
def client(yard: Yard) -> Client:
    client = Client()
    client.force_login(yard.lead)
    return client


def filled(yard: Yard, **changes: Any) -> dict[str, Any]:
    """Return the form of the parts as the page shows it, with changes."""
    values: dict[str, Any] = {"version": desk_of(yard.run).version}
    for place, choice in enumerate(desk_of(yard.run).choices.parts, start=1):
        values |= {
            f"shown-{choice.key}": "on",
            f"place-{choice.key}": place,
            f"heading-{choice.key}": choice.heading,
            f"text-{choice.key}": choice.text,
        }
    values |= {name.replace("__", "-"): value for name, value in changes.items()}
    return {name: value for name, value in values.items() if value is not None}


def keys(yard: Yard) -> list[str]:
    return [row["key"] for row in report_document(yard.run)["parts"]]


def post(client: Client, yard: Yard, **changes: Any) -> Any:
    return client.post(reverse("run_report", args=[yard.run.pk]), filled(yard, **changes))


def test_parts_are_left_out_put_in_order_and_given_words(yard: Yard, client: Client) -> None:
    answer = post(
        client,
        yard,
        shown__taught=None,
        place__next=1,
        heading__next="After the course",
        text__next="The lime has to cure <b>until spring</b>.",
    )
    assert answer.status_code == 302
    assert keys(yard)[0] == "site"  # at the same place 1, and it stood before
    post(client, yard, place__site=5)
    found = report_document(yard.run)["parts"]
    assert found[0]["key"] == "next"
    assert (found[0]["heading"], found[0]["number"]) == ("After the course", 1)
    page = client.get(reverse("run_report_preview", args=[yard.run.pk])).content.decode()
    assert "until spring" in page
    assert "&lt;b&gt;until" in page
    assert LogEntry.objects.filter(verb="report.saved").count() == 2


def test_a_part_left_out_is_not_in_the_report(yard: Yard, client: Client) -> None:
    post(client, yard, shown__taught=None)
    assert keys(yard) == [part.key for part in PARTS if part.key != "taught"]


def test_two_editors_at_once_are_told_and_nothing_is_lost(yard: Yard, client: Client) -> None:
    mine = filled(yard, text__site="Mine, on the site.")
    save_parts(
        actor=yard.instructor,
        run=yard.run,
        version=0,
        parts=[PartChoice(part.key, text="Theirs.") for part in PARTS],
    )
    address = reverse("run_report", args=[yard.run.pk])
    answer = client.post(address, mine)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert f"{yard.instructor} saved this report while you were writing." in page
    assert "Mine, on the site." in page
    assert "Theirs." in page
    assert load_choices(TrainingReport.objects.get().choices).parts[0].text == "Theirs."
    assert 'name="version" value="1"' in page
    # Having seen it, the second save is meant.
    assert client.post(address, {**mine, "version": 1}).status_code == 302
    assert load_choices(TrainingReport.objects.get().choices).parts[0].text == "Mine, on the site."


def test_a_fault_stands_at_its_field_and_what_was_entered_stays(yard: Yard, client: Client) -> None:
    answer = post(client, yard, place__site="first", text__site="Long thought about.")
    page = answer.content.decode()
    assert answer.status_code == 422
    assert 'href="#id_place-site"' in page
    assert "Write a whole number from 1 on." in page
    assert "Long thought about." in page
    assert report_of(yard.run) is None


def test_no_figure_can_be_sent(yard: Yard, client: Client) -> None:
    before = report_document(yard.run)
    post(client, yard, **{"totals": 99, "met": 99, "facts-results": '{"met": 99}'})
    assert report_document(yard.run) == before
    row = TrainingReport.objects.get().choices
    assert set(row) == {"parts", "stages"}
    assert {name for part in row["parts"] for name in part} == {"key", "shown", "heading", "text"}


def test_photographs_are_chosen_ordered_and_captioned(yard: Yard, client: Client) -> None:
    first, second, third = (photograph(yard, caption=word) for word in ("One", "Two", "Three"))
    assert [caption for _, caption in shown(yard)] == ["One", "Two", "Three"]
    answer = client.post(
        reverse("run_report_stage", args=[yard.run.pk, "set"]),
        {
            "version": 0,
            "text": "The joint is raked to depth.",
            f"shown-log-{first.pk}": "on",
            f"place-log-{first.pk}": 2,
            f"caption-log-{first.pk}": "Raked, brushed and wetted",
            f"place-log-{second.pk}": 7,
            f"shown-log-{third.pk}": "on",
            f"place-log-{third.pk}": 1,
        },
    )
    assert answer.status_code == 302
    assert shown(yard) == [
        (f"log-{third.pk}", "Three"),
        (f"log-{first.pk}", "Raked, brushed and wetted"),
    ]
    page = client.get(reverse("run_report_preview", args=[yard.run.pk])).content.decode()
    assert 'alt="Raked, brushed and wetted"' in page
    assert "The joint is raked to depth." in page


def test_photographs_of_other_pages_stay_as_they_are(
    yard: Yard, client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("assessments.views.reports.AT_ONCE", 2)
    photos = [photograph(yard, caption=word) for word in ("One", "Two", "Three")]
    last = f"log-{photos[2].pk}"
    answer = client.post(
        f"{reverse('run_report_stage', args=[yard.run.pk, 'set'])}?{urlencode({'page': 2})}",
        {"version": 0, "text": "", f"shown-{last}": "on", f"place-{last}": 1},
    )
    assert answer.status_code == 302
    assert [caption for _, caption in shown(yard)] == ["Three", "One", "Two"]


def test_a_caption_too_long_is_told_and_kept(yard: Yard, client: Client) -> None:
    photo = f"log-{photograph(yard).pk}"
    answer = client.post(
        reverse("run_report_stage", args=[yard.run.pk, "set"]),
        {"version": 0, f"shown-{photo}": "on", f"place-{photo}": 1, f"caption-{photo}": "x" * 301},
    )
    assert answer.status_code == 422
    assert "x" * 301 in answer.content.decode()


def test_a_photograph_of_another_run_is_never_shown(yard: Yard) -> None:
    other = photograph(make_yard())
    choose(yard, "set", Picture(f"log-{other.pk}"))
    assert shown(yard) == []


def test_others_may_not_write_and_an_empty_report_is_refused(yard: Yard) -> None:
    for stranger in (make_person(), yard.trainee, make_yard().lead):
        with pytest.raises(PermissionDenied):
            save_parts(actor=stranger, run=yard.run, version=0, parts=Choices().parts)
    save_parts(
        actor=yard.lead,
        run=yard.run,
        version=0,
        parts=[PartChoice(part.key, shown=False) for part in PARTS],
    )
    with pytest.raises(Refused, match="Every part is left out"):
        ask_for_file(actor=yard.lead, run=yard.run, paper="a4")


@pytest.mark.django_db(transaction=True)
def test_of_two_first_saves_at_the_same_moment_one_is_told() -> None:
    yard = make_yard()

    def save(number: int) -> str:
        try:
            save_parts(
                actor=(yard.lead, yard.instructor)[number],
                run=yard.run,
                version=0,
                parts=[PartChoice(part.key, text=f"Of {number}") for part in PARTS],
            )
        except Overtaken:
            return "told"
        return "saved"

    assert sorted(at_once(save)) == ["saved", "told"]
    assert TrainingReport.objects.get().version == 1

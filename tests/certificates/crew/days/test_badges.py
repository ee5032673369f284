"""Badges: the sheet on paper and the page behind the code.

page-validation judges PDF/UA-1 (ISO 14289-1), Poppler reads the words and where they stand, and
zxing-cpp the codes (ISO/IEC 18004). A card of 85 by 54 mm fits the usual holders (common
practice, no source).
"""

import re
from datetime import UTC, datetime, timedelta

import pytest
import zxingcpp
from django.conf import LazySettings
from django.test import Client
from django.urls import reverse
from page import validate_pdf_bytes

from certificates.actions.days import place_people, remove_place
from certificates.actions.guesses import LIMIT
from certificates.models import DayPlace, StatusChange, WrongNumber
from tests.certificates.crew.builders import crew_member, record_for
from tests.certificates.crew.coverage.builders import set_clock
from tests.certificates.crew.days.builders import TODAY, Tower
from tests.certificates.pdf.tools import picture_of, run_on
from training.models import Person

MM = 72 / 25.4
CHECKED = '<a class="code nowrap" href="/check/'
LONG = "Maximiliana Theodora Wolfeschlegelsteinhausen-Bergerdorff of the Northern Quarries"


def placed(site: Tower, *people: Person, leads: bool = False) -> list[DayPlace]:
    return place_people(
        actor=site.manager,
        project=site.project,
        post=site.a,
        day=TODAY,
        people=people,
        leads=leads,
        knowing=[each.pk for each in people],
    )


def page_of(response: object) -> str:
    return " ".join(response.content.decode().split())  # type: ignore[attr-defined]


def sheet(site: Tower) -> bytes:
    client = Client()
    client.force_login(site.manager)
    response = client.get(reverse("badge_sheet", args=[site.project.pk]))
    assert response["Content-Type"] == "application/pdf"
    assert response["Cache-Control"] == "no-store"
    return response.content


@pytest.mark.parametrize(
    ("paper", "size", "corner"),
    [("a4", 10, (20.0, 13.5)), ("letter", 8, (22.95, 31.7))],
)
def test_every_card_holds_its_own_name_and_a_code_that_reads(
    site: Tower,
    settings: LazySettings,
    paper: str,
    size: int,
    corner: tuple[float, float],
) -> None:
    settings.RECORD_PAPER = paper
    site.a.places = 20
    site.a.title = "Dutchman repairs to the string course of the north-eastern stair turret " * 2
    site.a.save()
    site.project.name = "The conservation of the bell tower and the cloister, second phase " * 2
    site.project.save()
    names = [LONG, "W" * 200, "石工" * 20, *(f"Mason{at} Tester" for at in range(size - 2))]
    people = [crew_member(site.contractor, name) for name in names]
    placed(site, *people)
    pdf = sheet(site)
    assert not validate_pdf_bytes(pdf, profile="ua1").failures
    assert "Pages:           2" in run_on(pdf, "pdfinfo", "FILE")
    found = run_on(pdf, "pdftotext", "-bbox", "-l", "1", "FILE", "-")
    words = re.findall(
        r'<word xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">(.*?)</word>', found
    )
    cards: dict[tuple[int, int], list[str]] = {}
    for *edges, text in words:
        left, top, right, bottom = (float(each) / MM for each in edges)
        column, row = int((left - corner[0]) // 85), int((top - corner[1]) // 54)
        x, y = corner[0] + 85 * column, corner[1] + 54 * row
        assert (left > x + 3, right < x + 82, top > y + 2, bottom < y + 52) == (True,) * 4, text
        cards.setdefault((row, column), []).append(text)
    assert len(cards) == size
    for texts in cards.values():
        assert texts.count("alone.") == 1  # the foot of each card
    everything = "".join("".join(texts) for texts in cards.values())
    assert LONG.replace(" ", "") in everything
    assert "W" * 200 in everything
    codes = zxingcpp.read_barcodes(picture_of(pdf, page=1, dpi=200))
    tokens = set(DayPlace.objects.values_list("token", flat=True))
    assert len(codes) == size
    for code in codes:
        match = re.fullmatch(rf"{re.escape(settings.BASE_URL)}/badge/(.+)/", code.text)
        assert match is not None
        assert match.group(1) in tokens


def test_without_anybody_placed_there_is_no_sheet(site: Tower) -> None:
    client = Client()
    client.force_login(site.manager)
    response = client.get(reverse("badge_sheet", args=[site.project.pk]), follow=True)
    assert "Nobody is placed on this day" in page_of(response)


def test_a_badge_says_on_its_day_who_and_whether_qualified(site: Tower) -> None:
    (row,) = placed(site, site.able)
    response = Client().get(reverse("badge", args=[row.token]))
    page = page_of(response)
    assert response.status_code == 200
    assert "Qualified today" in page
    assert "Abelard Rooke" in page
    assert f'href="{reverse("check_record", args=[site.record.number])}"' in page
    assert page.count(CHECKED) == 1  # the record of leading is not about this place
    assert "no-store" in response["Cache-Control"]
    assert "noindex" in response["X-Robots-Tag"]
    assert response["Referrer-Policy"] == "no-referrer"
    assert not response.cookies


def test_a_badge_of_a_lead_names_both_records(site: Tower) -> None:
    (row,) = placed(site, site.able, leads=True)
    page = page_of(Client().get(reverse("badge", args=[row.token])))
    assert "as lead" in page
    assert page.count(CHECKED) == 2


def test_a_badge_follows_the_record_at_once_and_tells_no_reason(site: Tower) -> None:
    (row,) = placed(site, site.able)
    StatusChange.objects.create(
        record=site.record,
        number=1,
        change=StatusChange.Change.SUSPENDED,
        reason="The photographs show another wall.",
        by=site.record.issued_by,
    )
    page = page_of(Client().get(reverse("badge", args=[row.token])))
    assert "Not qualified today" in page
    assert "suspended" not in page
    assert site.record.number not in page


@pytest.mark.parametrize(("days", "words"), [(-1, "has not come yet"), (1, "has passed")])
def test_on_another_day_a_badge_shows_nothing(
    site: Tower, days: int, words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    (row,) = placed(site, site.able)
    set_clock(monkeypatch, datetime(2027, 1, 15, 17, 0, tzinfo=UTC) + timedelta(days=days))
    response = Client().get(reverse("badge", args=[row.token]))
    assert response.status_code == 410
    page = page_of(response)
    assert words in page
    for secret in ("Abelard", site.project.name, site.record.number, "15 January"):
        assert secret not in page
    assert not WrongNumber.objects.exists()


def test_who_is_taken_off_has_a_dead_badge(site: Tower) -> None:
    (row,) = placed(site, site.able)
    token = row.token
    remove_place(actor=site.manager, place=row)
    response = Client().get(reverse("badge", args=[token]))
    assert response.status_code == 404
    assert "Abelard" not in page_of(response)
    placed(site, site.able)
    assert Client().get(reverse("badge", args=[token])).status_code == 404


@pytest.mark.parametrize("token", ["\0", "x" * 5000, "石工", " ", "a\nb"])
def test_what_cannot_be_a_token_is_not_known(site: Tower, token: str) -> None:
    assert Client().get(reverse("badge", args=[token])).status_code == 404


def test_wrong_tokens_are_counted_and_then_nothing_is_looked_up(site: Tower) -> None:
    (row,) = placed(site, site.able)
    for _ in range(LIMIT):
        assert Client().get(reverse("badge", args=["not-a-token"])).status_code == 404
    response = Client().get(reverse("badge", args=[row.token]))
    assert response.status_code == 429
    assert response["Retry-After"] == "900"
    assert "Abelard" not in page_of(response)


def test_a_second_person_of_the_same_name_keeps_a_badge_of_the_own(site: Tower) -> None:
    twin = crew_member(site.contractor, "Abelard Rooke")
    record = record_for(twin, site.program)
    one, other = placed(site, site.able, twin)
    pages = [page_of(Client().get(reverse("badge", args=[each.token]))) for each in (one, other)]
    assert site.record.number in pages[0]
    assert record.number in pages[1]
    assert record.number not in pages[0]

"""The pages of submittals and links: who sees what, what is kept when something is wrong."""

import io
import zipfile
from typing import Any

import pytest
from django.core.files.storage import default_storage
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from certificates.actions import submittals
from certificates.actions.links import make_link
from certificates.keys import keystore_of
from certificates.models import Record, ShareLink, Submittal
from certificates.signing import verdict
from certificates.submittal.archive import archive
from certificates.submittal.stored import read_as_submitted
from tests.certificates.crew.submittals.conftest import Works, row_of, signed_in
from tests.factories import make_person, make_role
from training.models import Role


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Draw and sign nothing."""
    monkeypatch.setattr(submittals, "render_submittal", lambda document, paper: b"%PDF-")
    monkeypatch.setattr(submittals, "sign", lambda pdf, *args, **about: pdf)


def page_of(works: Works) -> str:
    return reverse("submittals", args=[works.project.pk])


def fields(works: Works, text: str = "A third mason is assessed.") -> dict[str, str]:
    """Return what a manager sends from the page as it is now."""
    statement = works.statement()
    return {"seen": statement.seen, **{f"gap_{gap.key}": text for gap in statement.gaps}}


@pytest.mark.usefixtures("quick")
def test_the_manager_looks_then_submits(works: Works) -> None:
    client = signed_in(works.manager)
    page = client.get(page_of(works))
    shown = page.content.decode()
    assert works.statement().seen in shown
    for text in ("Ana Ruiz", works.records[0].number, works.statement().gaps[0].sentence):
        assert text in shown
    answer = client.post(page_of(works), fields(works), follow=True)
    assert answer.status_code == 200
    assert "Submittal 1 is signed and submitted." in answer.content.decode()
    assert Submittal.objects.get().document["gaps"][0]["met_by"] == "A third mason is assessed."


@pytest.mark.usefixtures("quick")
def test_a_gap_without_words_is_told_at_its_field(works: Works) -> None:
    answer = signed_in(works.manager).post(page_of(works), fields(works, " "))
    assert answer.status_code == 422
    (name,) = list(answer.context["form"].errors)
    assert name.startswith("gap_")
    assert Submittal.objects.count() == 0


@pytest.mark.usefixtures("quick")
def test_a_changed_crew_is_shown_anew_and_nothing_typed_is_lost(works: Works) -> None:
    sent = fields(works, "Tom Bell comes back in May.")
    works.leave(works.masons[0])  # the gap is another one now, with nobody qualified
    answer = signed_in(works.manager).post(page_of(works), sent)
    shown = answer.content.decode()
    assert answer.status_code == 409
    assert "Nothing was signed." in shown
    assert "Tom Bell comes back in May." in shown
    assert works.statement().seen in shown
    assert Submittal.objects.count() == 0


@pytest.mark.usefixtures("quick")
def test_words_for_a_gap_that_stays_are_in_its_field(works: Works) -> None:
    sent = {**fields(works, "By Friday."), "seen": "0" * 64}
    answer = signed_in(works.manager).post(page_of(works), sent)
    assert answer.status_code == 409
    assert ">\nBy Friday.</textarea>" in answer.content.decode()


def test_a_project_without_posts_says_what_to_do(works: Works) -> None:
    works.post.delete()
    answer = signed_in(works.manager).get(page_of(works))
    assert "has no posts yet" in answer.content.decode()


def status(answer: Any) -> int:
    number: int = answer.status_code
    return number


def test_who_may_do_what(works: Works) -> None:
    """A matrix: the representative sees and downloads; others do not know that it is there."""
    submittal = row_of(works)
    link, _ = make_link(actor=works.manager, project=works.project, recipient="Clerk")
    key = works.project.pk
    asked = [
        ("get", page_of(works)),
        ("post", page_of(works)),
        ("get", reverse("submittal_pdf", args=[submittal.pk])),
        ("get", reverse("submittal_zip", args=[submittal.pk])),
        ("post", reverse("link_make", args=[key])),
        ("get", reverse("link", args=[key, link.pk])),
        ("post", reverse("link_revoke", args=[key, link.pk])),
    ]
    people = {
        "manager": (works.manager, [200, 409, 200, 200, 422, 200, 302]),
        "representative": (works.representative, [200, 403, 200, 200, 403, 403, 403]),
        "lead": (make_role(Role.Kind.LEAD, works.program.provider), [404] * 7),
        "other firm": (
            make_role(
                Role.Kind.CONTRACTOR,
                type(works.contractor).objects.create(kind="contractor", name="Other Ashlar Ltd"),
            ),
            [404] * 7,
        ),
        "mason": (works.masons[0], [404] * 7),
        "stranger": (make_person(), [404] * 7),
    }
    for who, (person, expected) in people.items():
        client = signed_in(person)
        found = [status(getattr(client, method)(address)) for method, address in asked]
        assert found == expected, who
    nobody = [status(getattr(Client(), method)(address)) for method, address in asked]
    assert nobody == [302] * 7


def test_the_representative_sees_no_crew_and_no_links(works: Works) -> None:
    row_of(works)
    make_link(actor=works.manager, project=works.project, recipient="Clerk of works")
    works.add_mason("Vera Stone", valid_until=works.project.ends_on)
    shown = signed_in(works.representative).get(page_of(works)).content.decode()
    for hidden in ("Vera Stone", "Ana Ruiz", "Clerk of works", "Sign and submit"):
        assert hidden not in shown


def test_a_link_is_shown_once_with_its_code(works: Works) -> None:
    client = signed_in(works.manager)
    address = reverse("link_make", args=[works.project.pk])
    answer = client.post(address, {"recipient": "Clerk of works", "days": "7"})
    shown = answer.content.decode()
    link = ShareLink.objects.get()
    found = answer.context["address"]
    assert client.get(found).status_code == 200
    assert shown.count(found) == 1
    assert "<svg" in shown
    assert "no-store" in answer["Cache-Control"]
    for page in (page_of(works), reverse("link", args=[works.project.pk, link.pk])):
        assert found not in client.get(page).content.decode()


@pytest.mark.parametrize(
    ("sent", "field"), [({"days": "7"}, "recipient"), ({"recipient": "A", "days": "1.5"}, "days")]
)
def test_a_wrong_link_form_keeps_what_was_typed(
    works: Works, sent: dict[str, str], field: str
) -> None:
    answer = signed_in(works.manager).post(reverse("link_make", args=[works.project.pk]), sent)
    assert answer.status_code == 422
    assert list(answer.context["link_form"].errors) == [field]
    for value in sent.values():
        assert f'value="{value}"' in answer.content.decode()


def test_the_shared_page_shows_then_and_now(works: Works, client: Client) -> None:
    row_of(works)
    _, token = make_link(actor=works.manager, project=works.project, recipient="Clerk")
    works.add_mason("Vera Stone", valid_until=works.project.ends_on)
    shown = client.get(reverse("shared", args=[token])).content.decode()
    for text in (works.project.name, "Ana Ruiz", works.records[0].number, "When submitted", "Now"):
        assert text in shown
    assert "Vera Stone" not in shown
    assert "<script>" not in shown


def test_the_shared_page_without_a_submittal(works: Works, client: Client) -> None:
    _, token = make_link(actor=works.manager, project=works.project, recipient="Clerk")
    answer = client.get(reverse("shared", args=[token]))
    assert answer.status_code == 200
    assert "Nothing has been submitted yet" in answer.content.decode()


def opened(answer: Any) -> zipfile.ZipFile:
    return zipfile.ZipFile(io.BytesIO(b"".join(answer)))


def test_what_was_submitted_stays_readable_when_a_mason_has_left(works: Works) -> None:
    submittal = row_of(works)
    record = works.records[0]
    default_storage.save(record.pdf.name or "", io.BytesIO(record.number.encode()))
    works.leave(works.masons[0])
    for person in (works.manager, works.representative):
        address = reverse("submittal_zip", args=[submittal.pk])
        packed = opened(signed_in(person).get(address))
        assert packed.testzip() is None
        name = f"submittal-1/records/{record.number}-certificate.pdf"
        assert packed.read(name) == record.number.encode()
        pdf = packed.read("submittal-1/submittal-1.pdf")
        assert pdf == read_as_submitted(submittal)


def test_the_archive_is_the_same_each_time_and_names_what_is_missing(works: Works) -> None:
    """The record's file is not in the storage; a text says so, and nothing fails."""
    submittal = row_of(works)
    now = timezone.now()
    keystore_of(works.contractor).identity(at=now)
    first, second = (b"".join(archive(submittal, now=now)) for _ in range(2))
    assert first == second
    packed = zipfile.ZipFile(io.BytesIO(first))
    names = packed.namelist()
    number = works.records[0].number
    issuer = f"submittal-1/keys/issuer-{works.contractor.pk}"
    assert f"submittal-1/records/{number}-certificate.pdf.MISSING.txt" in names
    assert {f"{issuer}-root.pem", f"{issuer}.crl"} <= set(names)
    assert {entry.date_time for entry in packed.infolist()} == {(1980, 1, 1, 0, 0, 0)}
    assert all(name.startswith("submittal-1/") and ".." not in name for name in names)
    page = packed.read("submittal-1/record-checker.html").decode()
    assert "BEGIN CERTIFICATE" in page
    assert submittal.pdf_sha256 in packed.read("submittal-1/README.txt").decode()


def test_the_archive_is_made_while_it_is_sent(
    works: Works, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each file is read when its turn comes, so that one at a time is in memory."""
    works.add_mason(
        valid_until=works.project.ends_on,
        competency="records/second.pdf",
        competency_sha256="1" * 64,
    )
    read: list[str] = []

    def noted(record: Record, kind: str) -> bytes:
        read.append(f"{record.number}-{kind}")
        return read[-1].encode()

    monkeypatch.setattr("certificates.submittal.archive.read_as_issued", noted)
    pieces = archive(row_of(works), now=timezone.now())
    before = []
    packed = b""
    for piece in pieces:
        before.append(len(read))
        packed += piece
    assert before[:4] == [0, 1, 2, 3]
    names = zipfile.ZipFile(io.BytesIO(packed)).namelist()
    assert [f"submittal-1/records/{name}.pdf" for name in read] == names[1:4]
    assert sum(name.endswith("-competency.pdf") for name in names) == 1


def test_a_file_that_was_changed_is_never_sent(works: Works) -> None:
    submittal = row_of(works)
    name = submittal.pdf.name or ""
    default_storage.delete(name)
    default_storage.save(name, io.BytesIO(b"%PDF- another"))
    answer = signed_in(works.manager).get(reverse("submittal_pdf", args=[submittal.pk]))
    assert answer.status_code == 503
    assert b"not the one that was signed" in answer.content


def test_pages_ask_as_often_at_one_row_as_at_three(works: Works) -> None:
    client = signed_in(works.manager)
    row_of(works)
    _, token = make_link(actor=works.manager, project=works.project, recipient="Clerk")
    counts = []
    for number in (1, 3):
        if number == 3:
            for more in (2, 3):
                row_of(works, number=more)
                make_link(actor=works.manager, project=works.project, recipient="Clerk")
        with CaptureQueriesContext(connection) as asked:
            client.get(page_of(works))
        with CaptureQueriesContext(connection) as shared:
            Client().get(reverse("shared", args=[token]))
        counts.append((len(asked), len(shared)))
    assert counts[0] == counts[1]


def check_by_file(pdf: bytes, address: str) -> Any:
    file = io.BytesIO(pdf)
    file.name = "a.pdf"
    return Client().post(reverse(address), {"file": file})


def test_the_check_by_file_knows_a_submittal(works: Works) -> None:
    submittal = works.submit()
    pdf = read_as_submitted(submittal)
    page = check_by_file(pdf, "check_file").content.decode()
    assert "This file is a submittal, as its contractor signed it" in page
    assert works.records[0].number in page
    told = check_by_file(pdf, "check_file_json").json()
    assert (told["status"], told["submittal"]) == ("submittal", 1)
    assert b"North face" in pdf
    changed = check_by_file(pdf.replace(b"North face", b"South face"), "check_file")
    assert changed.status_code == 200
    assert verdict.SUBMITTAL in changed.content.decode()


def test_the_contractors_root_and_list_are_public(works: Works, client: Client) -> None:
    keystore = keystore_of(works.contractor)
    keystore.identity(at=timezone.now())
    root = client.get(reverse("check_root", args=[works.contractor.pk]))
    assert root.content == keystore.roots_pem()
    assert client.get(reverse("issuer_crl", args=[works.contractor.pk])).status_code == 200
    assert client.get(reverse("check_root", args=[works.owner.pk])).status_code == 404

"""What a module is taught from: versions, digests, sizes, who hands in and who fetches."""

import hashlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.core.files.base import ContentFile, File
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from tests.training.yard import Yard
from training.actions.materials import add_material
from training.errors import Refused
from training.models import LogEntry, Material, Module
from training.queries.materials import LARGEST_BYTES, shelves_of

TEXT = b"Bedding, shown on a brick"
# SHA-256 of "abc", the example of FIPS 180-4's published vectors (from memory).
ABC = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


@pytest.fixture(autouse=True)
def files(settings: Any, tmp_path: Path) -> Path:
    """Keep files in a folder of the test."""
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


@pytest.fixture
def module(yard: Yard) -> Module:
    """Return a module of the yard's program."""
    return Module.objects.create(
        program=yard.program, position=1, key="M1", title="Bedding", kind="lecture", minutes=90
    )


def add(yard: Yard, module: Module, content: bytes = b"abc", **changes: str) -> Material:
    values = {"title": "Slides", "changed": "", "name": "slides.pdf", **changes}
    return add_material(
        actor=yard.lead,
        program=yard.program,
        module=module,
        title=values["title"],
        changed=values["changed"],
        upload=ContentFile(content, name=values["name"]),
    )


def stored(folder: Path) -> list[Path]:
    return [path for path in folder.rglob("*") if path.is_file()]


def test_a_file_is_kept_with_its_digest_and_size(yard: Yard, module: Module, files: Path) -> None:
    row = add(yard, module)
    assert (row.version, row.sha256, row.size, row.name) == (1, ABC, 3, "slides.pdf")
    assert [path.read_bytes() for path in stored(files)] == [b"abc"]
    entry = LogEntry.objects.latest("seq")
    assert (entry.verb, entry.data["sha256"]) == ("material.added", ABC)


def test_a_further_version_says_what_changed_and_replaces_nothing(
    yard: Yard, module: Module, files: Path
) -> None:
    add(yard, module)
    with pytest.raises(Refused) as caught:
        add(yard, module, b"abd")
    assert caught.value.field == "changed"
    with pytest.raises(Refused) as caught:
        add(yard, module, b"abc", changed="Nothing really")
    assert caught.value.field == "file"
    assert len(stored(files)) == 1  # what was refused is not left behind
    assert add(yard, module, b"abd", changed="A drawing").version == 2
    (shelf,) = shelves_of(yard.program)["M1"]
    assert (shelf.newest.version, [each.version for each in shelf.earlier]) == (2, [1])
    assert len(stored(files)) == 2


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("../../etc/passwd", "passwd"),
        ("C:\\Users\\a\\plan.pdf", "plan.pdf"),
        ("a\x00\x1f.pdf", "a.pdf"),
        ("x" * 300 + ".pdf", "x" * 196 + ".pdf"),
        ("  ", "file"),
    ],
)
def test_a_name_is_a_name_and_no_path(yard: Yard, module: Module, name: str, kept: str) -> None:
    upload: File[bytes] = ContentFile(b"abc")
    upload.name = name
    row = add_material(
        actor=yard.lead, program=yard.program, module=module, title="Plan", upload=upload
    )
    assert row.name == kept


class Large(File[bytes]):
    """A file that says its size and gives its bytes in pieces, never whole."""

    def __init__(self, size: int) -> None:
        super().__init__(None, name="film.mp4")
        self._size = size
        self.most = 0

    @property
    def size(self) -> int:
        """Return the size in bytes."""
        return self._size

    def chunks(self, chunk_size: int | None = None) -> Iterator[bytes]:
        """Yield zeros, in pieces of 64 kB."""
        for start in range(0, self._size, 65536):
            piece = bytes(min(65536, self._size - start))
            self.most = max(self.most, len(piece))
            yield piece

    def read(self, *args: object) -> bytes:
        raise AssertionError("the file is read whole")


def test_a_large_file_is_kept_in_pieces(yard: Yard, module: Module, files: Path) -> None:
    size = 8 * 1024 * 1024
    row = add_material(
        actor=yard.lead, program=yard.program, module=module, title="Film", upload=Large(size)
    )
    assert row.size == size
    assert row.sha256 == hashlib.sha256(bytes(size)).hexdigest()
    assert [path.stat().st_size for path in stored(files)] == [size]


@pytest.mark.parametrize("size", [0, LARGEST_BYTES + 1])
def test_nothing_and_too_much_are_refused(
    yard: Yard, module: Module, files: Path, size: int
) -> None:
    with pytest.raises(Refused) as caught:
        add_material(
            actor=yard.lead, program=yard.program, module=module, title="Film", upload=Large(size)
        )
    assert caught.value.field == "file"
    assert stored(files) == []


def test_only_a_lead_hands_in_and_only_for_an_own_module(
    yard: Yard, other_yard: Yard, module: Module
) -> None:
    upload = ContentFile(b"abc", name="a.pdf")
    with pytest.raises(PermissionDenied):
        add_material(
            actor=yard.teacher, program=yard.program, module=module, title="A", upload=upload
        )
    with pytest.raises(Refused) as caught:
        add_material(
            actor=other_yard.lead,
            program=other_yard.program,
            module=module,
            title="A",
            upload=upload,
        )
    assert caught.value.field == "module"


def post(client: Client, yard: Yard, module: Module, content: bytes, **changes: str) -> Any:
    values = {
        "module": str(module.pk),
        "title": "Slides",
        "changed": "",
        "file": SimpleUploadedFile("slides.pdf", content),
        **changes,
    }
    return client.post(reverse("material_new", args=[yard.program.pk]), values)


def test_the_form_keeps_and_the_page_shows_it(yard: Yard, module: Module, client: Client) -> None:
    client.force_login(yard.lead)
    assert post(client, yard, module, TEXT).status_code == 302
    row = Material.objects.get()
    page = client.get(reverse("program", args=[yard.program.pk])).content.decode()
    assert row.sha256 in page
    assert "Slides" in page
    assert "1 h 30 min" in page
    again = post(client, yard, module, b"Other")
    assert again.status_code == 422
    assert list(again.context["form"].errors) == ["changed"]
    asked = client.get(
        reverse("material_new", args=[yard.program.pk]) + f"?module={module.key}&title=Slides"
    )
    assert asked.context["form"].initial == {"module": module, "title": "Slides"}


def test_an_upload_over_the_limit_is_let_go_as_it_comes(
    yard: Yard, module: Module, client: Client, files: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("training.views.materials.LARGEST_BYTES", 100_000)
    client.force_login(yard.lead)
    answer = post(client, yard, module, bytes(300_000), changed="A second camera")
    page = answer.content.decode()
    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == ["file"]
    assert "100 MB at most" in page
    assert "A second camera" in page  # what was typed is not lost with the file
    opened = client.get(reverse("material_new", args=[yard.program.pk]))
    assert list(opened.context["form"].fields)[-1] == "file"
    assert stored(files) == []


def test_the_form_asks_for_the_token_of_the_page(yard: Yard, module: Module) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(yard.lead)
    assert post(client, yard, module, TEXT).status_code == 403
    assert not Material.objects.exists()


def test_who_follows_the_program_fetches_the_file_as_it_was(
    yard: Yard, other_yard: Yard, module: Module, client: Client, files: Path
) -> None:
    row = add(yard, module, TEXT, name="Füße – plan.html")
    address = reverse("material_file", args=[row.pk])
    for person in (yard.lead, yard.teacher, yard.trainee):
        client.force_login(person)
        answer: Any = client.get(address)
        assert b"".join(answer.streaming_content) == TEXT
        assert answer["Content-Disposition"].startswith("attachment")
        assert answer["Content-Type"] == "application/octet-stream"
        assert answer["X-Content-Type-Options"] == "nosniff"
    for stranger in (other_yard.lead, yard.other_teacher, yard.manager):
        client.force_login(stranger)
        assert client.get(address).status_code == 404
    client.force_login(yard.lead)
    for path in stored(files):
        path.unlink()
    assert client.get(address).status_code == 404


def test_three_materials_ask_no_more_than_one(
    yard: Yard, module: Module, client: Client, django_assert_num_queries: Any
) -> None:
    client.force_login(yard.lead)
    address = reverse("program", args=[yard.program.pk])
    add(yard, module)
    with django_assert_num_queries(30, exact=False) as one:
        client.get(address)
    add(yard, module, title="Handout")
    add(yard, module, b"abd", changed="A drawing")
    with django_assert_num_queries(len(one)):
        client.get(address)

"""The page that takes posts as a CSV file: plan, faults, encodings, two who save at once."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from certificates.actions.projects import ChangedMeanwhile, change_post
from certificates.actions.projects.postfile import PostsRefused, load_posts, plan_posts
from certificates.actions.projects.values import values_of
from certificates.models import Post
from certificates.postfile import read_lines
from tests.assessments.builders import at_once
from tests.certificates.crew.projects.test_posts_file import HEAD, ROW
from tests.certificates.crew.projects.works import Works, make_works
from training.models import LogEntry


@pytest.fixture
def browser(client: Client, works: Works) -> Client:
    """Return a client signed in as the owner's representative."""
    client.force_login(works.representative)
    return client


def test_the_page_shows_the_plan_then_saves_it(browser: Client, works: Works) -> None:
    address = reverse("posts_file", args=[works.project.pk])
    assert browser.get(address).status_code == 200
    file = SimpleUploadedFile("posts.csv", f"{HEAD}\n{ROW}".encode())
    shown = browser.post(address, {"file": file, "text": ""})
    page = shown.content.decode()
    assert shown.status_code == 200
    assert not Post.objects.exists()
    for words in ("What would be saved", "A new post", "Sill and soffit.", "2 in to 6 in."):
        assert words in page
    saved = browser.post(
        address, {"text": f"{HEAD}\n{ROW}", "state": shown.context["plan"].state, "save": "yes"}
    )
    assert saved.status_code == 302
    assert Post.objects.get().code == "N-1"
    content = b"".join(browser.get(reverse("posts_csv", args=[works.project.pk])))
    assert b"N-1" in content
    assert read_lines(content.decode()).faults == ()


def test_a_bad_file_is_shown_again_whole(browser: Client, works: Works) -> None:
    address = reverse("posts_file", args=[works.project.pk])
    text = f"{HEAD}\n{ROW.replace('DUTCH', 'TILES')}"
    for sent in ({"text": text}, {"text": text, "save": "yes", "state": ""}):
        answer = browser.post(address, sent)
        page = answer.content.decode()
        assert answer.status_code == 422
        assert "1 place needs correcting" in page
        assert "Row 2" in page
        assert "N-1,&quot;Dutchmen, north&quot;,TILES" in page


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"PK\x03\x04rest", "This is a workbook"),
        (b"code\x00", "not a text file"),
        (b"code,\x81", "neither UTF-8 nor Windows-1252"),
        (b"a" * 1_000_001, "1 MB at most"),
    ],
)
def test_a_file_that_is_none_is_refused(
    browser: Client, works: Works, content: bytes, words: str
) -> None:
    file = SimpleUploadedFile("posts.csv", content)
    answer = browser.post(reverse("posts_file", args=[works.project.pk]), {"file": file})
    assert answer.status_code == 422
    assert words in answer.content.decode()


def test_other_encodings_are_read_and_a_guess_is_said(browser: Client, works: Works) -> None:
    text = f"{HEAD}\n{ROW.replace('north', 'façade')}"
    address = reverse("posts_file", args=[works.project.pk])
    for encoding, guessed in (("utf-16", False), ("utf-8-sig", False), ("cp1252", True)):
        file = SimpleUploadedFile("posts.csv", text.encode(encoding))
        page = browser.post(address, {"file": file}).content.decode()
        assert "Dutchmen, façade" in page
        assert ("read as Windows-1252" in page) is guessed


@pytest.mark.django_db(transaction=True)
def test_of_two_who_load_the_same_plan_at_once_one_is_asked_to_look_again() -> None:
    works = make_works()
    text = f"{HEAD}\n{ROW}"
    state = plan_posts(project=works.project, text=text).state

    def load_it(number: int) -> str:
        try:
            load_posts(actor=works.manager, project=works.project, text=text, state=state)
        except PostsRefused as refused:
            return refused.message
        return ""

    first, second = sorted(at_once(load_it))
    assert first == ""
    assert "changed this project's posts since you looked" in second
    assert Post.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_of_two_who_change_a_post_at_once_one_is_told() -> None:
    works = make_works()
    post = works.post()
    seen = values_of(post).document()

    def change_it(number: int) -> int:
        try:
            change_post(
                actor=works.manager, post=post, seen=seen, values=works.values(places=number + 7)
            )
        except ChangedMeanwhile as changed:
            return int(changed.now["places"])
        return 0

    told = max(at_once(change_it))
    assert told in (7, 8)
    assert Post.objects.get().places == told
    assert LogEntry.objects.filter(verb="post.changed").count() == 1

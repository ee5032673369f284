"""Making, changing and copying projects, removing posts: guards, permissions, pages."""

from datetime import UTC, date, datetime, timedelta
from typing import Any
from unittest import mock

import pytest
from django.core.exceptions import PermissionDenied
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from certificates.actions.projects import (
    PostRefused,
    add_post,
    change_post,
    change_project,
    copy_project,
    create_project,
    remove_post,
    values_of,
)
from certificates.actions.projects.projects import project_document
from certificates.models import DayPlace, Post, Project, Submittal
from certificates.queries.projects import phase_of, project_rows, today_at
from tests.certificates.crew.projects.works import END, START, Works
from tests.factories import make_organisation, make_person, make_role
from training.errors import Refused
from training.models import LogEntry, Person, Role

NEW: dict[str, Any] = {
    "name": "Bridge house",
    "place": "",
    "time_zone": "Europe/London",
    "starts_on": date(2027, 1, 4),
    "ends_on": date(2027, 1, 29),
}


def edited(works: Works, actor: Person | None = None, **changes: Any) -> Project:
    """Change the project as it is seen now."""
    project = Project.objects.get(pk=works.project.pk)
    values = {
        name: getattr(project, name)
        for name in ("name", "place", "owner", "time_zone", "starts_on", "ends_on")
    }
    return change_project(
        actor=actor or works.manager,
        project=project,
        seen=project_document(project),
        **{**values, **changes},
    )


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"name": "  "}, "name"),
        ({"name": "CHAPEL of the  mill"}, "name"),
        ({"name": "a\u202eb"}, "name"),
        ({"place": "p" * 301}, "place"),
        ({"time_zone": "Mars/Olympus"}, "time_zone"),
        ({"ends_on": date(2027, 1, 3)}, "ends_on"),
        ({"ends_on": date(2207, 1, 3)}, "ends_on"),
        ({"ends_on": date(2127, 1, 3)}, "ends_on"),
        ({"starts_on": date(27, 1, 4)}, "starts_on"),
    ],
)
def test_a_project_that_cannot_be_is_refused(
    works: Works, changes: dict[str, Any], field: str
) -> None:
    with pytest.raises(Refused) as refused:
        create_project(actor=works.manager, contractor=works.contractor, **{**NEW, **changes})
    assert refused.value.field == field
    assert Project.objects.count() == 1


def test_contractor_and_owner_make_projects_and_nobody_else(works: Works) -> None:
    for number, actor in enumerate((works.manager, works.representative)):
        made = create_project(
            actor=actor,
            contractor=works.contractor,
            owner=works.owner,
            **{**NEW, "name": f"House {number}"},
        )
        assert LogEntry.objects.filter(verb="project.created", subject_id=str(made.pk)).exists()
    stranger = make_role(Role.Kind.CONTRACTOR, make_organisation("contractor"))
    other_owner = make_role(Role.Kind.OWNER, make_organisation("owner"))
    for actor in (stranger, other_owner, make_person()):
        with pytest.raises(PermissionDenied):
            create_project(actor=actor, contractor=works.contractor, owner=works.owner, **NEW)
    with pytest.raises(PermissionDenied):  # an owner's project has that owner
        create_project(actor=works.representative, contractor=works.contractor, **NEW)


def test_strangers_write_nothing(works: Works) -> None:
    post = works.post()
    stranger = make_role(Role.Kind.CONTRACTOR, make_organisation("contractor"))
    values = works.values(code="X")
    for write in (
        lambda: edited(works, stranger),
        lambda: copy_project(
            actor=stranger, project=works.project, name="C", starts_on=START, time_zone="UTC"
        ),
        lambda: add_post(actor=stranger, project=works.project, values=values),
        lambda: change_post(actor=stranger, post=post, seen={}, values=values),
        lambda: remove_post(actor=stranger, post=post),
    ):
        with pytest.raises(PermissionDenied):
            write()
    assert not LogEntry.objects.exists()


def test_the_days_of_a_project_keep_its_posts_within(works: Works) -> None:
    works.post(ends_on=date(2027, 4, 30))
    with pytest.raises(Refused, match=r"Post N-1 runs from 2027-03-01 to 2027-04-30") as refused:
        edited(works, ends_on=date(2027, 4, 29))
    assert refused.value.field == "ends_on"
    with pytest.raises(Refused) as refused:
        edited(works, starts_on=date(2027, 3, 2))
    assert refused.value.field == "starts_on"
    assert edited(works, ends_on=date(2027, 4, 30)).ends_on == date(2027, 4, 30)


def test_only_the_contractor_changes_the_owner(works: Works) -> None:
    other = make_organisation("owner")
    with pytest.raises(Refused) as refused:
        edited(works, works.representative, owner=other)
    assert refused.value.field == "owner"
    assert edited(works, owner=other).owner == other


def test_the_owner_stays_once_something_was_submitted(works: Works) -> None:
    Submittal.objects.create(
        project=works.project,
        number=1,
        document={},
        digest="0" * 64,
        pdf="none.pdf",
        pdf_sha256="1" * 64,
        certificate_sha256="2" * 64,
        submitted_by=works.manager,
    )
    for owner in (None, make_organisation("owner")):
        with pytest.raises(Refused, match="submitted to its owner already") as refused:
            edited(works, owner=owner)
        assert refused.value.field == "owner"
    assert edited(works, name="Chapel").owner == works.owner


def test_the_slower_of_two_who_change_a_project_is_told(works: Works, client: Client) -> None:
    client.force_login(works.representative)
    address = reverse("project_edit", args=[works.project.pk])
    seen = client.get(address).context["seen"]
    values = {
        "name": "Chapel",
        "owner": works.owner.pk,
        "starts_on": "2027-03-01",
        "ends_on": "2027-06-30",
        "time_zone": "America/New_York",
        "seen": seen,
    }
    edited(works, place="Weir Lane")
    late = client.post(address, values)
    assert late.status_code == 422
    assert [(d.label, d.before, d.after) for d in late.context["differences"]] == [
        ("Place", "Mill Lane", "Weir Lane")
    ]
    assert "Weir Lane" in late.content.decode()
    assert client.post(address, {**values, "seen": late.context["seen"]}).status_code == 302
    assert Project.objects.get().name == "Chapel"


def test_a_copy_has_every_post_on_days_moved_alike(works: Works) -> None:
    # Into a leap year: 1 March 2027 to 29 February 2028 is 365 days (counted with datetime.date).
    works.post(
        code="A",
        conditions={"position": ["sill"]},
        lead_program=works.plain,
        masons_per_lead=2,
        work="Two lines\nof it",
    )
    works.post(code="B", starts_on=date(2027, 4, 1), ends_on=date(2027, 6, 30))
    copy = copy_project(
        actor=works.representative,
        project=works.project,
        name="Next year",
        starts_on=date(2028, 2, 29),
        time_zone="UTC",
        owner=works.owner,
    )
    assert (copy.ends_on - copy.starts_on) == END - START
    assert copy.copied_from == works.project
    for post, moved in zip(works.project.posts.all(), copy.posts.all(), strict=True):
        said, now = values_of(post).document(), values_of(moved).document()
        for field in ("starts_on", "ends_on"):
            gap = date.fromisoformat(now.pop(field)) - date.fromisoformat(said.pop(field))
            assert gap == timedelta(days=365)
        assert said == now
        assert post.pk != moved.pk


def test_a_copy_cannot_leave_the_calendar(works: Works) -> None:
    for day in (date(9999, 12, 1), date(1, 1, 1), date(2199, 12, 1)):
        with pytest.raises(Refused):
            copy_project(
                actor=works.manager, project=works.project, name="C", starts_on=day, time_zone="UTC"
            )
    assert Project.objects.count() == 1


def place(works: Works, post: Post, day: date) -> DayPlace:
    """Put somebody on the day list at ``post``."""
    return DayPlace.objects.create(
        project=works.project, day=day, person=make_person(), post=post, placed_by=works.manager
    )


def test_a_post_with_somebody_on_a_day_list_stays(works: Works, client: Client) -> None:
    post = works.post()
    placed = place(works, post, date(2027, 3, 14))
    client.force_login(works.manager)
    answer = client.post(reverse("post_remove", args=[post.pk]))
    assert answer.status_code == 422
    assert "on the day list of 2027-03-14" in answer.content.decode()
    for changes, field in (
        ({"starts_on": date(2027, 3, 15)}, "starts_on"),
        ({"ends_on": date(2027, 3, 13)}, "ends_on"),
    ):
        with pytest.raises(PostRefused) as refused:
            change_post(
                actor=works.manager,
                post=post,
                seen=values_of(post).document(),
                values=works.values(**changes),
            )
        assert refused.value.field == field
    placed.delete()
    assert client.get(reverse("post_remove", args=[post.pk])).status_code == 200
    assert client.post(reverse("post_remove", args=[post.pk])).status_code == 302
    assert not Post.objects.exists()
    assert LogEntry.objects.get().verb == "post.removed"


def test_a_post_that_is_gone_is_not_changed(works: Works) -> None:
    post = works.post()
    seen = values_of(post).document()
    remove_post(actor=works.manager, post=Post.objects.get())
    with pytest.raises(Refused, match="removed this post meanwhile"):
        change_post(actor=works.manager, post=post, seen=seen, values=works.values())


def test_the_phase_is_told_by_the_day_at_the_project(works: Works) -> None:
    # 04:30 UTC on 1 July 2027 is 00:30 on 1 July in New York (EDT, UTC-4), 21:30 on 30 June in
    # Los Angeles (PDT, UTC-7): the offsets are from memory.
    works.project.refresh_from_db()
    for zone, phase in (("America/New_York", "over"), ("America/Los_Angeles", "running")):
        works.project.time_zone = zone
        works.project.save()
        now = datetime(2027, 7, 1, 4, 30, tzinfo=UTC)
        with mock.patch("django.utils.timezone.now", return_value=now):
            assert phase_of(works.project) == phase


def test_the_filter_agrees_with_the_word_on_each_row(works: Works) -> None:
    today = today_at(works.project)
    for number, (start, end) in enumerate(((-9, -1), (-9, 0), (0, 0), (0, 9), (1, 9))):
        create_project(
            actor=works.manager,
            contractor=works.contractor,
            **{
                **NEW,
                "name": f"P{number}",
                "time_zone": works.project.time_zone,
                "starts_on": today + timedelta(days=start),
                "ends_on": today + timedelta(days=end),
            },
        )
    found = {
        phase: {project.pk for project in project_rows(works.manager, phase=phase)}
        for phase in ("coming", "running", "over")
    }
    for project in project_rows(works.manager):
        assert [phase for phase, pks in found.items() if project.pk in pks] == [phase_of(project)]


def statuses(client: Client, person: Person, works: Works, post: Post) -> list[int]:
    """Return what each address answers ``person``."""
    client.force_login(person)
    pk = works.project.pk
    names = ("project_list", "project_new")
    ones = ("project", "project_edit", "project_copy", "post_new", "posts_file", "posts_csv")
    addresses = [reverse(name) for name in names] + [reverse(name, args=[pk]) for name in ones]
    addresses += [reverse(name, args=[post.pk]) for name in ("post_edit", "post_remove")]
    return [client.get(address).status_code for address in addresses]


def test_who_is_answered_what(works: Works, client: Client) -> None:
    post = works.post()
    for person in (works.manager, works.representative):
        assert statuses(client, person, works, post) == [200] * 10
    other = make_role(Role.Kind.OWNER, make_organisation("owner"))
    assert statuses(client, other, works, post) == [200, 200] + [404] * 8
    assert statuses(client, make_person(), works, post) == [200, 403] + [404] * 8
    client.logout()
    assert client.get(reverse("project", args=[works.project.pk])).status_code == 302


def test_the_owner_is_shown_no_way_to_the_crew(works: Works, client: Client) -> None:
    client.force_login(works.representative)
    assert client.get(reverse("project", args=[works.project.pk])).context["keeps"] is False
    client.force_login(works.manager)
    assert client.get(reverse("project", args=[works.project.pk])).context["keeps"] is True


def test_an_owners_representative_makes_a_project_in_the_form(works: Works, client: Client) -> None:
    client.force_login(works.representative)
    values = {
        "name": "Gate house",
        "contractor": works.contractor.pk,
        "owner": "",
        "starts_on": "2027-01-04",
        "ends_on": "2027-01-29",
        "time_zone": "Europe/London",
    }
    address = reverse("project_new")
    without = client.post(address, values)
    assert without.status_code == 422
    assert "owner" in without.context["form"].errors
    assert "Gate house" in without.content.decode()
    strange = client.post(address, {**values, "owner": make_organisation("owner").pk})
    assert "owner" in strange.context["form"].errors
    made = client.post(address, {**values, "owner": works.owner.pk})
    assert made.status_code == 302
    project = Project.objects.get(name="Gate house")
    assert (project.contractor, project.owner) == (works.contractor, works.owner)
    copied = client.post(
        reverse("project_copy", args=[project.pk]),
        {**values, "owner": works.owner.pk, "name": "Gate house, again"},
    )
    assert copied.status_code == 302


def test_one_in_both_roles_mixes_no_two_strangers(works: Works, client: Client) -> None:
    both = make_role(Role.Kind.CONTRACTOR, make_organisation("contractor"))
    Role.objects.create(person=both, organisation=make_organisation("owner"), kind="owner")
    client.force_login(both)
    answer = client.post(
        reverse("project_new"),
        {
            "name": "Gate house",
            "contractor": works.contractor.pk,
            "owner": works.owner.pk,
            "starts_on": "2027-01-04",
            "ends_on": "2027-01-29",
            "time_zone": "Europe/London",
        },
    )
    assert answer.status_code == 422
    assert "choose an owner that you represent" in answer.context["form"].errors["owner"][0]


def test_the_number_of_queries_does_not_grow_with_the_projects(
    works: Works, client: Client
) -> None:
    client.force_login(works.manager)
    address = reverse("project_list")
    counts = []
    for names in ([], ["A", "B"]):
        for name in names:
            create_project(
                actor=works.manager, contractor=works.contractor, **{**NEW, "name": name}
            )
        with CaptureQueriesContext(connection) as queries:
            assert len(client.get(address).context["rows"]) == 1 + len(names)
        counts.append(len(queries))
    assert counts[0] == counts[1]
    found = client.get(address, {"text": "mill", "phase": ""}).context["rows"]
    assert [project for project, _ in found] == [works.project]
    for bad in ({"phase": "x"}, {"text": "a\x00"}):
        assert client.get(address, bad).status_code == 422

"""Planning, opening and closing a run; sites."""

from datetime import date

import pytest
from django.core.exceptions import PermissionDenied

from tests.factories import make_organisation, make_run
from tests.training.yard import Yard
from training.actions.runs import add_instructor, close_run, create_run, open_run
from training.actions.sites import add_site
from training.errors import Refused
from training.models import CourseRun, LogEntry, Role, Site

FIRST, LAST = date(2026, 11, 2), date(2026, 11, 6)


def test_a_run_is_planned_with_its_instructors(yard: Yard) -> None:
    run = create_run(
        actor=yard.lead,
        program=yard.program,
        site=yard.run.site,
        starts_on=FIRST,
        ends_on=LAST,
        instructors=[yard.teacher],
    )
    assert run.state == "planned"
    assert list(run.instructors.all()) == [yard.teacher]
    row = LogEntry.objects.get(verb="run.created")
    assert (row.actor, row.subject_id) == (yard.lead, str(run.pk))
    assert row.data["instructors"] == [yard.teacher.pk]


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"ends_on": date(2026, 11, 1)}, "ends_on"),
        ({"ends_on": date(2027, 11, 3)}, "ends_on"),
        ({"site": "other"}, "site"),
        ({"instructors": "trainee"}, "instructors"),
        ({"instructors": "other teacher"}, "instructors"),
    ],
)
def test_a_run_that_cannot_be(
    yard: Yard, other_yard: Yard, change: dict[str, object], field: str
) -> None:
    values = {
        "program": yard.program,
        "site": yard.run.site,
        "starts_on": FIRST,
        "ends_on": LAST,
        **change,
    }
    if change.get("site"):
        values["site"] = other_yard.run.site
    if change.get("instructors") == "trainee":
        values["instructors"] = [yard.trainee]
    elif change.get("instructors"):
        values["instructors"] = [other_yard.teacher]
    before = CourseRun.objects.count()
    with pytest.raises(Refused) as refused:
        create_run(actor=yard.lead, **values)  # type: ignore[arg-type]
    assert refused.value.field == field
    assert (CourseRun.objects.count(), LogEntry.objects.count()) == (before, 0)


def test_a_run_of_one_day_and_the_longest(yard: Yard) -> None:
    for last in (FIRST, date(2027, 11, 2)):
        assert create_run(
            actor=yard.lead,
            program=yard.program,
            site=yard.run.site,
            starts_on=FIRST,
            ends_on=last,
        ).pk


def test_open_close_and_open_again(yard: Yard) -> None:
    run = make_run(yard.program, instructors=(yard.teacher,), state="planned")
    for action, state in ((open_run, "open"), (close_run, "closed"), (open_run, "open")):
        action(actor=yard.lead, run=run)
        assert CourseRun.objects.get(pk=run.pk).state == state
    verbs = list(LogEntry.objects.values_list("verb", flat=True))
    assert verbs == ["run.opened", "run.closed", "run.opened"]


def test_a_planned_run_cannot_be_closed_nor_an_open_one_opened(yard: Yard) -> None:
    planned = make_run(yard.program, instructors=(yard.teacher,), state="planned")
    with pytest.raises(Refused, match="is planned; it cannot become closed"):
        close_run(actor=yard.lead, run=planned)
    with pytest.raises(Refused, match="is open; it cannot become open"):
        open_run(actor=yard.lead, run=yard.run)


def test_whoever_is_slower_is_told(yard: Yard) -> None:
    stale = CourseRun.objects.get(pk=yard.run.pk)
    close_run(actor=yard.lead, run=yard.run)
    with pytest.raises(Refused, match="Somebody else changed"):
        close_run(actor=yard.lead, run=stale)
    assert LogEntry.objects.count() == 1


def test_a_run_without_instructors_is_not_opened(yard: Yard) -> None:
    with pytest.raises(Refused, match="add an instructor"):
        open_run(actor=yard.lead, run=make_run(yard.program, state="planned"))


def test_add_an_instructor(yard: Yard) -> None:
    add_instructor(actor=yard.lead, run=yard.run, person=yard.other_teacher)
    assert set(yard.run.instructors.all()) == {yard.teacher, yard.other_teacher}
    assert LogEntry.objects.get().data == {"person": yard.other_teacher.pk}


@pytest.mark.parametrize("who", ["teacher", "stranger", "trainee"])
def test_who_cannot_be_added_as_instructor(yard: Yard, who: str) -> None:
    person = getattr(yard, who)
    if who == "trainee":  # also a teacher elsewhere in the yard, but a trainee on this run
        Role.objects.create(person=person, organisation=yard.provider, kind="instructor")
    with pytest.raises(Refused) as refused:
        add_instructor(actor=yard.lead, run=yard.run, person=person)
    assert refused.value.field == "person"
    assert list(yard.run.instructors.all()) == [yard.teacher]


def test_nobody_is_added_to_a_closed_run(yard: Yard) -> None:
    close_run(actor=yard.lead, run=yard.run)
    with pytest.raises(Refused, match="closed"):
        add_instructor(actor=yard.lead, run=yard.run, person=yard.other_teacher)


@pytest.mark.parametrize("who", ["teacher", "trainee", "manager", "stranger"])
def test_only_a_lead_writes(yard: Yard, other_yard: Yard, who: str) -> None:
    for person in (getattr(yard, who), other_yard.lead):
        with pytest.raises(PermissionDenied):
            create_run(
                actor=person,
                program=yard.program,
                site=yard.run.site,
                starts_on=FIRST,
                ends_on=LAST,
            )
        with pytest.raises(PermissionDenied):
            add_instructor(actor=person, run=yard.run, person=yard.other_teacher)
        with pytest.raises(PermissionDenied):
            close_run(actor=person, run=yard.run)
        with pytest.raises(PermissionDenied):
            open_run(actor=person, run=yard.run)
        with pytest.raises(PermissionDenied):
            add_site(actor=person, provider=yard.provider, name="Mill", time_zone="Europe/London")
    assert not LogEntry.objects.exists()


def test_add_a_site(yard: Yard) -> None:
    owner = make_organisation("owner")
    site = add_site(
        actor=yard.lead,
        provider=yard.provider,
        name="  Tarrow  Bridge Mill ",
        time_zone="Europe/London",
        address=" Tarrow ",
        owner=owner,
    )
    assert (site.name, site.address, site.owner) == ("Tarrow Bridge Mill", "Tarrow", owner)
    assert LogEntry.objects.get().verb == "site.added"


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"name": "taken"}, "name"),
        ({"name": "  "}, "name"),
        ({"time_zone": "Mars/Olympus"}, "time_zone"),
        ({"time_zone": "../etc/passwd"}, "time_zone"),
        ({"owner": "firm"}, "owner"),
    ],
)
def test_a_site_that_cannot_be(yard: Yard, change: dict[str, object], field: str) -> None:
    values = {"name": "Mill", "time_zone": "Europe/London", **change}
    if values["name"] == "taken":
        values["name"] = yard.run.site.name.upper()
    if "owner" in values:
        values["owner"] = yard.firm
    before = Site.objects.count()
    with pytest.raises(Refused) as refused:
        add_site(actor=yard.lead, provider=yard.provider, **values)  # type: ignore[arg-type]
    assert refused.value.field == field
    assert Site.objects.count() == before

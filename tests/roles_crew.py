"""One of everything about the crew, for the table of roles and addresses."""

from typing import Any

from django.utils import timezone

from certificates.actions.feeds import make_feed
from certificates.actions.links import make_link
from certificates.models import Confirmation, Project
from tests.roles_table import PEOPLE
from training.actions.employment import offer_employment
from training.models import EmploymentOffer, Person


def crew_of(person: Person) -> dict[str, Any]:
    """Return the project that the trainee works on, and what belongs to it."""
    manager = Person.objects.get(email=PEOPLE["contractor"])
    rival = Person.objects.get(email="petra.northing@example.org")
    project = Project.objects.get()
    link, token = make_link(actor=manager, project=project, recipient="Clerk of works")
    feed, feed_token = make_feed(actor=manager, organisation=project.contractor)
    for actor, name, email in (
        (rival, person.full_name, person.email),
        (manager, "Søren Tårnby", "soren.tarnby@example.org"),
    ):
        offer_employment(
            actor=actor,
            organisation=actor.roles.get().organisation,
            full_name=name,
            email=email,
            since=timezone.localdate(),
        )
    return {
        "project": project,
        "post": project.posts.get(code="A"),
        "submittal": project.submittals.get(),
        "day_place": project.day_places.get(person=person),
        "confirmation": Confirmation.objects.get(),
        "link": link,
        "token": token,
        "feed": feed,
        "feed_token": feed_token,
        "offered": EmploymentOffer.objects.get(person=person),
        "offering": EmploymentOffer.objects.get(offered_by=manager),
        "employment": person.employments.get(),
    }


def crew_objects(world: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Return the objects of the addresses about the crew, by the address's name."""
    project, post, link = world["project"].pk, world["post"].pk, world["link"].pk
    shared = {"token": world["token"]}
    of_project = (
        "project", "project_edit", "project_copy", "post_new", "posts_file", "posts_csv",
        "project_coverage", "project_coverage_csv", "submittals", "link_make", "owner_view",
        "day_list", "day_copy", "badge_sheet",
    )  # fmt: skip
    return {
        **{name: {"pk": project} for name in of_project},
        "post_edit": {"pk": post},
        "post_remove": {"pk": post},
        "day_place": {"pk": project, "post": post},
        "day_remove": {"pk": world["day_place"].pk},
        "badge": {"token": world["day_place"].token},
        "submittal_pdf": {"pk": world["submittal"].pk},
        "submittal_zip": {"pk": world["submittal"].pk},
        "link": {"pk": project, "link": link},
        "link_revoke": {"pk": project, "link": link},
        "shared": shared,
        "shared_pdf": {**shared, "number": 1},
        "shared_zip": {**shared, "number": 1},
        "mason": {"pk": world["enrolment"].person_id},
        "crew_feed": {"token": world["feed_token"]},
        "crew_feed_revoke": {"pk": world["feed"].pk},
        "confirm_work": {"number": world["record"].number},
        "confirmation_retract": {"pk": world["confirmation"].pk},
        "offer_take_back": {"pk": world["offering"].pk},
        "offer_answer": {"pk": world["offered"].pk},
        "employment_end": {"pk": world["employment"].pk},
        "leave_employer": {"pk": world["employment"].pk},
    }

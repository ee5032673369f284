"""Creating, changing and copying a project."""

from datetime import date, timedelta
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from certificates.actions.projects.guards import require_days, require_zone
from certificates.actions.projects.permission import keeps, require_describes, speaks_for
from certificates.actions.projects.texts import one_line
from certificates.actions.projects.values import CHANGED_PROJECT, ChangedMeanwhile, differences
from certificates.models import Post, Project, Submittal
from training.actions.log import write_log
from training.errors import Refused
from training.models import Organisation, Person

PROJECT_LABELS = {
    "name": N_("Name"),
    "place": N_("Place"),
    "owner": N_("Owner"),
    "time_zone": N_("Time zone"),
    "starts_on": N_("First day"),
    "ends_on": N_("Last day"),
}
TAKEN = N_("{contractor} has a project of this name already: choose another name.")


def project_document(project: Project) -> dict[str, Any]:
    """Return what a project says as JSON values; to tell two of its states apart."""
    return {
        "name": project.name,
        "place": project.place,
        "owner": project.owner_id,
        "time_zone": project.time_zone,
        "starts_on": project.starts_on.isoformat(),
        "ends_on": project.ends_on.isoformat(),
    }


def create_project(
    *,
    actor: Person,
    contractor: Organisation,
    name: str,
    time_zone: str,
    starts_on: date,
    ends_on: date,
    owner: Organisation | None = None,
    place: str = "",
) -> Project:
    """Save and return a project of ``contractor``, without posts.

    Raises PermissionDenied for anyone but a manager of the contractor or a representative of
    the owner; Refused for a name that is taken, days that cannot be, an unknown time zone.
    """
    project = Project(
        contractor=contractor,
        owner=owner,
        name=name,
        place=place,
        time_zone=time_zone,
        starts_on=starts_on,
        ends_on=ends_on,
        created_by=actor,
    )
    with transaction.atomic():
        _create(actor, project)
        write_log(
            actor=actor,
            verb="project.created",
            subject=project,
            data={"contractor": contractor.pk, **project_document(project)},
        )
    return project


@transaction.atomic
def change_project(
    *,
    actor: Person,
    project: Project,
    seen: dict[str, Any],
    name: str,
    time_zone: str,
    starts_on: date,
    ends_on: date,
    owner: Organisation | None = None,
    place: str = "",
) -> Project:
    """Save and return ``project`` with new values; ``seen`` is its document as it was shown.

    Raises PermissionDenied for whoever may not describe it; ChangedMeanwhile when it is not as
    ``seen``; Refused for days that leave a post or a day list out, and as create_project does.
    """
    require_describes(actor, project)
    # Readers of a link or a submittal are not kept waiting: only who changes the project is.
    project = Project.objects.select_for_update(of=("self",), no_key=True).get(pk=project.pk)
    before = project_document(project)
    if before != seen:
        raise ChangedMeanwhile(
            CHANGED_PROJECT,
            differences(seen, before, labels=PROJECT_LABELS, names=_names(seen, before)),
            before,
        )
    _require_owner(actor, project, owner)
    project.owner = owner
    project.name, project.place, project.time_zone = name, place, time_zone
    project.starts_on, project.ends_on = starts_on, ends_on
    _check(project)
    _require_posts_within(project)
    _save(project)
    after = project_document(project)
    if after != before:
        changed = {key: [before[key], after[key]] for key in after if after[key] != before[key]}
        write_log(actor=actor, verb="project.changed", subject=project, data=changed)
    return project


def copy_project(
    *,
    actor: Person,
    project: Project,
    name: str,
    starts_on: date,
    time_zone: str,
    place: str = "",
    owner: Organisation | None = None,
) -> Project:
    """Save and return a new project of the same contractor with the posts of ``project``.

    Every day is moved by as many days as there are between the two first days. Nobody's place,
    submittal or link is copied. Raises as create_project does.
    """
    require_describes(actor, project)
    moved = starts_on - project.starts_on
    copy = Project(
        contractor=project.contractor,
        owner=owner,
        name=name,
        place=place,
        time_zone=time_zone,
        starts_on=starts_on,
        ends_on=_moved(project.ends_on, moved),
        copied_from=project,
        created_by=actor,
    )
    with transaction.atomic():
        _create(actor, copy)
        posts = [_copied(post, copy, moved) for post in project.posts.order_by("position")]
        Post.objects.bulk_create(posts)
        data = {"from": str(project.pk), "contractor": copy.contractor_id, "posts": len(posts)}
        write_log(
            actor=actor,
            verb="project.copied",
            subject=copy,
            data={**data, "days_moved": moved.days, **project_document(copy)},
        )
    return copy


def _moved(day: date, by: timedelta) -> date:
    try:
        return day + by
    except OverflowError:
        raise Refused(
            _("Write a day of this century: check the year."), field="starts_on"
        ) from None


def _copied(post: Post, project: Project, moved: timedelta) -> Post:
    return Post(
        project=project,
        position=post.position,
        code=post.code,
        title=post.title,
        work=post.work,
        program_id=post.program_id,
        conditions=post.conditions,
        places=post.places,
        starts_on=post.starts_on + moved,
        ends_on=post.ends_on + moved,
        masons_per_lead=post.masons_per_lead,
        lead_program_id=post.lead_program_id,
    )


def _create(actor: Person, project: Project) -> None:
    if project.contractor.kind != Organisation.Kind.CONTRACTOR:
        raise Refused(_("Choose a contractor."), field="contractor")
    if project.owner is not None and project.owner.kind != Organisation.Kind.OWNER:
        raise Refused(_("Choose a building's owner, or leave it empty."), field="owner")
    if not speaks_for(actor, project.contractor, project.owner):
        raise PermissionDenied(
            _("Only the contractor's manager or the owner's representative makes a project.")
        )
    _check(project)
    _save(project)


def _check(project: Project) -> None:
    """Put the texts into the form they are kept in; raise Refused at the field at fault."""
    for field, most, missing in (
        ("name", 200, _("Write what the project is called.")),
        ("place", 300, ""),
    ):
        try:
            setattr(project, field, one_line(getattr(project, field), most, missing))
        except ValueError as error:
            raise Refused(str(error), field=field) from None
    require_zone(project.time_zone)
    require_days(project.starts_on, project.ends_on)


def _save(project: Project) -> None:
    taken = Refused(_(TAKEN).format(contractor=project.contractor), field="name")
    same = Project.objects.filter(contractor=project.contractor_id, name__iexact=project.name)
    if same.exclude(pk=project.pk).exists():
        raise taken
    try:
        with transaction.atomic():
            project.save()
    except IntegrityError as error:  # two at the same moment
        if "project_name_once_a_contractor" not in str(error):
            raise
        raise taken from None


def _require_owner(actor: Person, project: Project, owner: Organisation | None) -> None:
    """What an owner was shown stays theirs: the owner changes only before a submittal."""
    if owner == project.owner:
        return
    if owner is not None and owner.kind != Organisation.Kind.OWNER:
        raise Refused(_("Choose a building's owner, or leave it empty."), field="owner")
    if not keeps(actor, project.contractor):
        raise Refused(
            _("Only a manager of {contractor} may change the owner: leave it as it is.").format(
                contractor=project.contractor
            ),
            field="owner",
        )
    if Submittal.objects.filter(project=project).exists():
        raise Refused(
            _(
                "This project was submitted to its owner already: leave the owner as it is, and "
                "copy the project for another one."
            ),
            field="owner",
        )


def _require_posts_within(project: Project) -> None:
    for post in project.posts.order_by("position"):
        for field, outside in (
            ("starts_on", post.starts_on < project.starts_on),
            ("ends_on", post.ends_on > project.ends_on),
        ):
            if outside:
                raise Refused(
                    _(
                        "Post {code} runs from {first} to {last}: keep it within the project, or "
                        "change the post first."
                    ).format(
                        code=post.code,
                        first=post.starts_on.isoformat(),
                        last=post.ends_on.isoformat(),
                    ),
                    field=field,
                )


def _names(*documents: dict[str, Any]) -> dict[str, str]:
    ids = {row["owner"] for row in documents if isinstance(row.get("owner"), int)}
    return {str(each.pk): each.name for each in Organisation.objects.filter(pk__in=ids)}

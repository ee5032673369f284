"""Adding, changing and removing one post."""

from typing import Any

from django.db import transaction
from django.db.models import Max, TextField, Value
from django.db.models.functions import Cast, Lower
from django.utils.translation import gettext as _

from certificates.actions.projects.guards import (
    MOST_POSTS,
    FieldFault,
    cleaned,
    post_faults,
)
from certificates.actions.projects.permission import require_describes
from certificates.actions.projects.values import (
    CHANGED_POST,
    ChangedMeanwhile,
    Difference,
    PostValues,
    differences,
    values_of,
)
from certificates.models import DayPlace, Post, Project
from certificates.queries.projects import days_placed, rules_by_program
from training.actions.log import write_log
from training.errors import Refused
from training.models import Person, Program


class PostRefused(Refused):
    """What was asked of a post has ``faults``, each with its field; nothing was saved."""

    def __init__(self, faults: list[FieldFault]) -> None:
        super().__init__(faults[0].message, field=faults[0].field)
        self.faults = tuple(faults)


@transaction.atomic
def add_post(*, actor: Person, project: Project, values: PostValues) -> Post:
    """Save and return a new post, the last of ``project``.

    Raises PermissionDenied for whoever may not describe the project, PostRefused with every
    fault at its field.
    """
    require_describes(actor, project)
    project = lock_project(project)
    values = _right(values, project, Post(project=project))
    if project.posts.count() >= MOST_POSTS:
        raise Refused(
            _("A project has {most} posts at most: make another project.").format(most=MOST_POSTS)
        )
    post = values.write_to(Post(project=project, position=next_position(project)))
    post.save(force_insert=True)
    write_log(
        actor=actor,
        verb="post.added",
        subject=post,
        data={"project": str(project.pk), **values.document()},
    )
    return post


@transaction.atomic
def change_post(*, actor: Person, post: Post, seen: dict[str, Any], values: PostValues) -> Post:
    """Save and return ``post`` with new values; ``seen`` is its document as it was shown.

    Raises PermissionDenied for whoever may not describe the project; ChangedMeanwhile when the
    post is not as ``seen``, or gone; PostRefused with every fault at its field.
    """
    require_describes(actor, post.project)
    project = lock_project(post.project)
    now = project.posts.select_related("program", "lead_program").filter(pk=post.pk).first()
    if now is None:
        raise Refused(_("Somebody else removed this post meanwhile: add it as a new one."))
    before = values_of(now).document()
    if before != seen:
        raise ChangedMeanwhile(CHANGED_POST, post_differences(seen, before), before)
    values = _right(values, project, now)
    after = values.document()
    if after != before:
        values.write_to(now).save(force_update=True)
        write_log(actor=actor, verb="post.changed", subject=now, data=changed(before, after))
    return now


@transaction.atomic
def remove_post(*, actor: Person, post: Post) -> None:
    """Delete ``post``.

    Raises PermissionDenied for whoever may not describe the project; Refused while a day list
    has somebody at it: what happened on the scaffold stays.
    """
    require_describes(actor, post.project)
    project = lock_project(post.project)
    first = DayPlace.objects.filter(post=post).order_by("day").first()
    if first is not None:
        raise Refused(
            _(
                "Somebody is at post {code} on the day list of {day}, so it stays. To end it "
                "earlier, change its last day; to be rid of it, take everybody off its day lists "
                "first."
            ).format(code=post.code, day=first.day.isoformat())
        )
    now = project.posts.select_related("program", "lead_program").filter(pk=post.pk).first()
    if now is None:
        return  # somebody else removed it: what was asked for is done
    data = {"project": str(project.pk), **values_of(now).document()}
    write_log(actor=actor, verb="post.removed", subject=now, data=data)
    now.delete()


def lock_project(project: Project) -> Project:
    """Return the project, locked: one change of its posts at a time."""
    locked: Project = (
        Project.objects.select_for_update(of=("self",), no_key=True)
        .select_related("contractor", "owner")
        .get(pk=project.pk)
    )
    return locked


def next_position(project: Project) -> int:
    """Return the position after the last post of a locked project."""
    last: int = project.posts.aggregate(last=Max("position"))["last"] or 0
    return last + 1


def changed(before: dict[str, Any], after: dict[str, Any]) -> dict[str, Any]:
    """Return what differs, as [before, after] by field, for the log."""
    return {key: [before[key], after[key]] for key in after if after[key] != before[key]}


def post_differences(before: dict[str, Any], after: dict[str, Any]) -> list[Difference]:
    """Return the fields in which two documents of a post differ, programs by their names."""
    return differences(before, after, names=program_names(before, after))


def program_names(*documents: dict[str, Any]) -> dict[str, str]:
    """Return the names of the programs that documents of posts name, by their ids as text."""
    ids = {row.get(field) for row in documents for field in ("program", "lead_program")}
    programs = Program.objects.annotate(text=Cast("pk", TextField()))
    return {str(each.pk): str(each) for each in programs.filter(text__in=ids - {None})}


def _right(values: PostValues, project: Project, post: Post) -> PostValues:
    """Return the values as they are kept; raise PostRefused with everything that is wrong."""
    programs = [each.pk for each in (values.program, values.lead_program) if each]
    placed = days_placed(project).get(post.pk)
    rules = rules_by_program(programs)
    faults = post_faults(values, project, rules, placed)
    same = project.posts.annotate(lower=Lower("code")).filter(
        lower=Lower(Value(values.code.strip()))
    )
    same = same.exclude(pk=post.pk)
    if not any(fault.field == "code" for fault in faults) and same.exists():
        faults.append(
            FieldFault(
                "code",
                _("This project has a post {code} already: write another.").format(
                    code=values.code
                ),
            )
        )
    if faults:
        raise PostRefused(faults)
    return cleaned(values, rules.get(values.program.pk))

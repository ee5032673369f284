"""Posts from a CSV file: looked at first, then all of them saved or none."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from assessments.engine.qualification import Rules
from certificates.actions.projects.guards import MOST_POSTS, cleaned, post_faults
from certificates.actions.projects.permission import require_describes
from certificates.actions.projects.posts import changed, lock_project, next_position, program_names
from certificates.actions.projects.values import Difference, PostValues, differences, values_of
from certificates.models import Post, Project
from certificates.postfile import (
    Catalogue,
    Line,
    Typed,
    columns_of,
    completed,
    read_lines,
    read_row,
    unknown_columns,
)
from certificates.queries.projects import days_placed, rules_by_program, sealed_programs
from training.actions.log import write_log
from training.digests import digest
from training.enrolfile import Fault
from training.errors import Refused
from training.models import Person, Program

NEW, CHANGED, SAME = "new", "changed", "same"


@dataclass(frozen=True)
class PlannedPost:
    """A row that could be saved: the post it adds or changes, and how that differs from now."""

    number: int
    word: str
    values: PostValues
    post: Post
    differences: tuple[Difference, ...] = ()


@dataclass(frozen=True)
class Plan:
    """What a file would do, and everything that is wrong with it.

    ``state`` is the digest of the posts that it was compared with.
    """

    rows: tuple[PlannedPost, ...]
    faults: tuple[Fault, ...]
    state: str

    def count(self, word: str) -> int:
        """How many rows are ``word``: new, changed or same."""
        return sum(row.word == word for row in self.rows)


class PostsRefused(Refused):
    """The file has ``faults``, or the project is not as it was looked at; nothing was saved."""

    def __init__(self, message: str, plan: Plan) -> None:
        super().__init__(message, field="text")
        self.plan = plan


def plan_posts(*, project: Project, text: str) -> Plan:
    """Return what loading ``text`` into ``project`` would do; writes nothing.

    A row whose code the project knows changes that post, the others add one; no post is
    removed. ``fixtures/POSTS_FORMAT.md`` says what the columns hold.
    """
    known = list(
        project.posts.select_related("program__provider", "lead_program__provider").order_by(
            "position"
        )
    )
    state = digest([[str(post.pk), values_of(post).document()] for post in known])
    read = read_lines(text)
    programs = tuple(sealed_programs()) if read.lines else ()
    codes = {line.cells.get(name, "").upper() for line in read.lines for name in _PROGRAMS}
    codes |= {post.lead_program.code for post in known if post.lead_program}  # if left unsaid
    named = [program for program in programs if program.code in codes]
    rules = rules_by_program(program.pk for program in named)
    catalogue = Catalogue(programs, rules)
    strange = unknown_columns(read.columns, named, rules) if named else []
    faults = [*read.faults, *(_strange(column, catalogue, named) for column in strange)]
    posts = _by_code(known)
    typed = []
    for line in read.lines:
        cells, post = _without(line, strange), posts.get(line.cells["code"].casefold())
        typed.append(read_row(completed(cells, values_of(post)) if post else cells, catalogue))
    _judge(typed, project, known, catalogue)
    for row in typed:
        faults += row.faults
    if len(known) + sum(row.code.casefold() not in posts for row in typed) > MOST_POSTS:
        faults.append(
            Fault(
                1,
                None,
                _("A project has {most} posts at most.").format(most=MOST_POSTS),
            )
        )
    faults.sort(key=lambda fault: fault.row)
    rows = [] if faults else _planned(typed, project, known, rules)
    return Plan(tuple(rows), tuple(faults), state)


def load_posts(*, actor: Person, project: Project, text: str, state: str) -> Plan:
    """Save the posts of ``text`` and return what was done; ``state`` is that of the plan seen.

    Raises PermissionDenied for whoever may not describe the project; PostsRefused with every
    fault, and when somebody changed a post since the plan was looked at.
    """
    require_describes(actor, project)
    try:
        with transaction.atomic():
            return _load(actor, lock_project(project), text, state)
    except IntegrityError:
        # Two codes that are one to the database and two to Python: the rarest of letters.
        raise Refused(
            _("Two of these codes are the same but for capital letters: change one."), field="text"
        ) from None


def _load(actor: Person, project: Project, text: str, state: str) -> Plan:
    plan = plan_posts(project=project, text=text)
    if plan.faults:
        number = len(plan.faults)
        raise PostsRefused(
            ngettext(
                "Nothing is saved yet: {count} place needs correcting.",
                "Nothing is saved yet: {count} places need correcting.",
                number,
            ).format(count=number),
            plan,
        )
    if plan.state != state:
        raise PostsRefused(
            _(
                "Nothing is saved yet: somebody changed this project's posts since you looked. "
                "Look again at what would be done now, then save."
            ),
            plan,
        )
    position = next_position(project)
    added: list[Post] = []
    log = {}
    for row in plan.rows:
        before = values_of(row.post).document() if row.word == CHANGED else {}
        row.values.write_to(row.post)
        after = row.values.document()
        if row.word == NEW:
            row.post.position = position + len(added)
            added.append(row.post)
            log[str(row.post.pk)] = after
        elif row.word == CHANGED:
            row.post.save(force_update=True)
            log[str(row.post.pk)] = changed(before, after)
    Post.objects.bulk_create(added)
    if log:
        write_log(actor=actor, verb="post.loaded", subject=project, data={"posts": log})
    return plan


_PROGRAMS = ("program", "lead program")


def _judge(typed: list[Typed], project: Project, known: list[Post], catalogue: Catalogue) -> None:
    """Add to each row what the guards say, and codes that stand twice."""
    placed = days_placed(project)
    posts = _by_code(known)
    seen: dict[str, int] = {}
    for row in typed:
        code = row.code.casefold()
        if code and code in seen:
            message = _("Row {seen} has this code already: write another.").format(seen=seen[code])
            row.faults.append(Fault(row.number, "code", message))
        seen.setdefault(code, row.number)
        if row.values is not None:
            post = posts.get(code)
            found = post_faults(
                row.values, project, catalogue.rules, placed.get(post.pk) if post else None
            )
            row.at_columns(found)


def _planned(
    typed: list[Typed],
    project: Project,
    known: list[Post],
    rules: Mapping[UUID, Rules | None],
) -> list[PlannedPost]:
    posts = _by_code(known)
    names: dict[str, str] = {}
    if posts:
        documents = [row.values.document() for row in typed if row.values]
        names = program_names(*documents, *(values_of(post).document() for post in known))
    found = []
    for row in typed:
        assert row.values is not None
        values = cleaned(row.values, rules.get(row.values.program.pk))
        post = posts.get(row.code.casefold())
        if post is None:
            found.append(PlannedPost(row.number, NEW, values, Post(project=project)))
            continue
        told = differences(values_of(post).document(), values.document(), names=names)
        found.append(PlannedPost(row.number, CHANGED if told else SAME, values, post, tuple(told)))
    return found


def _by_code(posts: Iterable[Post]) -> dict[str, Post]:
    return {post.code.casefold(): post for post in posts}


def _without(line: Line, columns: list[str]) -> Line:
    """Return the row without columns that were told as unknown once, in the header."""
    return Line(line.number, {k: v for k, v in line.cells.items() if k not in columns})


def _strange(column: str, catalogue: Catalogue, named: list[Program]) -> Fault:
    rules = [catalogue.rules.get(program.pk) for program in named]
    known = list(dict.fromkeys(each for one in rules if one for each in columns_of(one)))
    message = (
        _(
            "There is no such column: the programs in this file ask about {known}. Rename it or "
            "leave it out."
        ).format(known=", ".join(known))
        if known
        else _(
            "There is no such column: the programs in this file have no rules about conditions. "
            "Rename it or leave it out."
        )
    )
    return Fault(1, column[:60], message)

"""What the owner looks at: what was submitted beside how it stands, and who is on the scaffold.

Only people and records that the submittal names are in it, and those on the day's list.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, NamedTuple

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_
from django.utils.translation import ngettext

from certificates.models import Post, Project, Submittal
from certificates.queries.days import DayList, day_list
from certificates.queries.owner_changes import Change, changes_of_people, changes_of_posts
from certificates.queries.owner_named import Said, day_of, facts_of
from certificates.queries.owner_posts import PostNow, posts_now
from certificates.queries.submittals import needs_of
from certificates.wording import day as written
from certificates.wording import listed
from training.said import said as in_words

NOTHING = Said("none", "gap", N_("Nothing submitted yet"))
IN_ORDER = Said("good", "check", N_("In order"))
LOOK = Said("doubt", "half", N_("Look closer"))
NOT_IN_ORDER = Said("bad", "cross", N_("Not in order"))


class Gap(NamedTuple):
    """Places that nobody could fill: how the contractor meets it, and the stretches of days."""

    sentence: str
    met_by: str
    days: tuple[tuple[date, date], ...]


@dataclass(frozen=True)
class OwnerView:
    """``overall`` and ``sentence`` say how it stands on ``on``; the rest says why.

    ``posts``, ``changes`` and ``gaps`` are empty without a submittal. ``gaps`` and
    ``first_break`` are those of the submittal's document.
    """

    project: Project
    submittal: Submittal | None
    on: date
    overall: Said
    sentence: str
    posts: Sequence[PostNow]
    changes: Sequence[Change]
    day: DayList
    gaps: Sequence[Gap] = ()
    first_break: Mapping[str, Any] | None = None

    @property
    def tone(self) -> str:
        """Green, amber or red as ``good``, ``doubt`` or ``bad``; ``none`` without a submittal."""
        return self.overall.tone


def owner_view(project: Project, submittal: Submittal | None, on: date) -> OwnerView:
    """Return how ``submittal`` stands on ``on``, a day in the project's time zone.

    Today with all that is known; of another day its end. The number of queries is the same for
    any number of posts, people and records.
    """
    day = day_list(project, on)
    if submittal is None:
        overall = NOT_IN_ORDER if day.not_qualified else NOTHING
        sentence = _sentence(project, None, [], [], day)
        return OwnerView(project, None, on, overall, sentence, (), (), day)
    document = submittal.document
    posts: list[Post] = list(project.posts.select_related("program", "lead_program"))
    changes = changes_of_posts(document, posts, needs_of(posts), project)
    facts = facts_of(submittal, on)
    rows = posts_now(document, posts, facts, changed={each.code for each in changes})
    people = [each for row in rows for each in row.people]
    changes = sorted(
        [*changes_of_people(people, project), *changes], key=lambda each: _rank(each.tone)
    )
    return OwnerView(
        project,
        submittal,
        on,
        _overall(rows, changes, day),
        _sentence(project, submittal, rows, changes, day),
        rows,
        changes,
        day,
        [_gap(each) for each in document["gaps"]],
        document["first_break"],
    )


def _gap(entry: Mapping[str, Any]) -> Gap:
    days = ((day_of(each["first"]), day_of(each["last"])) for each in entry["spans"])
    return Gap(in_words(entry["sentence"]), entry["met_by"], tuple(days))


def _overall(rows: Sequence[PostNow], changes: Sequence[Change], day: DayList) -> Said:
    tones = {row.now.tone for row in rows}
    if "bad" in tones or day.not_qualified:
        return NOT_IN_ORDER
    if "doubt" in tones or {"doubt", "bad"} & {each.tone for each in changes}:
        return LOOK
    return IN_ORDER


def _sentence(
    project: Project,
    submittal: Submittal | None,
    rows: Sequence[PostNow],
    changes: Sequence[Change],
    day: DayList,
) -> str:
    said = [_of_posts(project, submittal, rows, changes)]
    if day.not_qualified:
        told = ngettext(
            "On {day} {names} is placed without being qualified there.",
            "On {day} {names} are placed without being qualified there.",
            len(day.not_qualified),
        )
        names = listed([str(each.place.person) for each in day.not_qualified])
        said.append(told.format(day=written(day.day), names=names))
    return " ".join(said)


def _of_posts(
    project: Project,
    submittal: Submittal | None,
    rows: Sequence[PostNow],
    changes: Sequence[Change],
) -> str:
    if submittal is None:
        return _("{contractor} has submitted nothing for this project yet.").format(
            contractor=project.contractor
        )
    lost = [row.code for row in rows if row.now.tone == "bad"]
    if lost:
        return ngettext(
            "Post {posts} is no longer filled as far as submitted.",
            "Posts {posts} are no longer filled as far as submitted.",
            len(lost),
        ).format(posts=listed(lost))
    short = [row.code for row in rows if row.now.tone == "doubt" and row.now.shape == "gap"]
    if short:
        return ngettext(
            "Post {posts} is not wholly filled, as submitted; nothing was lost.",
            "Posts {posts} are not wholly filled, as submitted; nothing was lost.",
            len(short),
        ).format(posts=listed(short))
    to_look_at = [each for each in changes if each.tone in ("doubt", "bad")]
    if to_look_at or any(row.now.tone == "doubt" for row in rows):
        return _("Every post is filled as submitted, but there is something to look at below.")
    return _("Every post is filled as submitted, and nothing speaks against it.")


def _rank(tone: str) -> int:
    return ("bad", "doubt", "good", "none").index(tone)

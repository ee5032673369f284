"""What changed since a submittal, in sentences: records, crew and posts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from typing import Any, NamedTuple
from uuid import UUID
from zoneinfo import ZoneInfo

from certificates.coverage.wording import day as written
from certificates.models import Post, Project
from certificates.queries.owner_named import Named, day_of
from certificates.queries.qualified import COUNTING, NOT_CONFIRMED
from certificates.queries.standing import DOUBTFUL, REPLACED, SUSPENDED, WITHDRAWN

Needs = Mapping[UUID, list[dict[str, str]]]


class Change(NamedTuple):
    """One thing that is not as it was submitted; ``tone`` bad: a place may be lost by it.

    ``code`` is that of the post which changed, or "" for what is no change of a post.
    """

    tone: str
    shape: str
    word: str
    sentence: str
    code: str = ""


def changes_of_people(people: Iterable[Named], project: Project) -> list[Change]:
    """Return what happened to the records named and their holders, each once."""
    zone = ZoneInfo(project.time_zone)
    found = [change for each in people for change in _of_one(each, zone)]
    return list(dict.fromkeys(found))


def changes_of_posts(
    document: Mapping[str, Any], posts: Sequence[Post], needs: Needs, project: Project
) -> list[Change]:
    """Return which posts were added, removed or changed, and whether the project's days were.

    ``needs`` are what the posts ask for now, in words, by the key of the post.
    """
    found = list(_of_project(document["project"], project))
    now = {post.code: post for post in posts}
    for entry in document["posts"]:
        post = now.pop(entry["code"], None)
        if post is None:
            said = f"Post {entry['code']} ({entry['title']}) was taken off the project."
            found.append(Change("none", "bar", "Post removed", said, entry["code"]))
            continue
        differences = list(_differences(entry, post, needs.get(post.pk, [])))
        if differences:
            said = f"Post {post.code}: {' '.join(differences)}"
            found.append(Change("doubt", "half", "Post changed", said, post.code))
    for post in now.values():
        said = f"Post {post.code} ({post.title}) is new: no submittal says yet who covers it."
        found.append(Change("doubt", "gap", "Post added", said, post.code))
    return found


def _of_one(each: Named, zone: ZoneInfo) -> Iterator[Change]:
    if not each.employed:
        yield Change(*each.now, f"{each.holder} is no longer on the crew.")
        return
    if each.standing is None:
        yield Change(*each.now, f"Record {each.number} of {each.holder} is not known here.")
        return
    if each.successor:
        said = f"Record {each.number} of {each.holder} was replaced by {each.successor}"
        said += f"{_on(each.standing.since, zone)}."
        yield Change("none", "bar", "Record replaced", said)
    if each.why:
        yield Change(*each.now, f"{each.holder}: {' '.join(each.why)}")
    elif each.counts != each.counted or each.now.tone != each.then.tone:
        yield Change(*each.now, _sentence(each, zone))
    if each.confirmed:
        said = f"The work of {each.holder} was confirmed for record {each.successor or each.number}"
        due = (
            f"the next confirmation is due by {written(each.confirm_by)}" if each.confirm_by else ""
        )
        said += f"; {due or 'none more is due before its last day'}."
        yield Change("good", "check", "Work confirmed", said)


def _sentence(each: Named, zone: ZoneInfo) -> str:
    record = f"Record {each.successor or each.number} of {each.holder}"
    if each.counts and not each.counted:
        return f"{record} counts again."
    standing = each.standing
    if each.word in (SUSPENDED, WITHDRAWN) and standing is not None:
        return f"{record} was {each.word}{_on(standing.since, zone)}."
    if each.word == DOUBTFUL:
        return f"{record} is doubtful: the key that signed it may have been in the hands of others."
    if each.word == REPLACED:
        return f"{record} was replaced by another, which is not known here."
    if each.word == NOT_CONFIRMED and each.confirm_by:
        return f"{record} no longer counts: no work was confirmed by {written(each.confirm_by)}."
    if each.word in COUNTING:
        dates = [text for text in (_until(each), _confirm(each)) if text]
        return f"{record} is {' and '.join(dates) or 'current'}."
    return f"{record} lapsed at the end of {written(each.valid_until or date.max)}."


def _until(each: Named) -> str:
    return f"valid until {written(each.valid_until)}" if each.valid_until else ""


def _confirm(each: Named) -> str:
    return f"to be confirmed by {written(each.confirm_by)}" if each.confirm_by else ""


def _on(moment: datetime | None, zone: ZoneInfo) -> str:
    return f" on {written(moment.astimezone(zone).date())}" if moment else ""


def _of_project(entry: Mapping[str, Any], project: Project) -> Iterator[Change]:
    first, last = day_of(entry["starts_on"]), day_of(entry["ends_on"])
    if (first, last) != (project.starts_on, project.ends_on):
        said = (
            f"The project ran from {written(first)} to {written(last)}; now it runs from "
            f"{written(project.starts_on)} to {written(project.ends_on)}."
        )
        yield Change("doubt", "half", "Days changed", said)


def _differences(
    entry: Mapping[str, Any], post: Post, needs: list[dict[str, str]]
) -> Iterator[str]:
    pairs = (
        ("title", entry["title"], post.title),
        ("places", entry["places"], post.places),
        ("leads", entry["leads"], post.leads),
        ("first day", written(day_of(entry["starts_on"])), written(post.starts_on)),
        ("last day", written(day_of(entry["ends_on"])), written(post.ends_on)),
        ("program", _program(entry["program"]), _program_of(post.program)),
        ("program of the lead", _program(entry["lead_program"]), _program_of(post.lead_program)),
        ("conditions", _asked(entry["needs"]), _asked(needs)),
    )
    for name, before, after in pairs:
        if before != after:
            yield f"{name} was {before}, is {after}."


def _program(entry: Mapping[str, Any] | None) -> str:
    return f"{entry['code']}, version {entry['version']}" if entry else "none"


def _program_of(program: Any) -> str:
    return f"{program.code}, version {program.version}" if program else "none"


def _asked(rows: Iterable[Mapping[str, str]]) -> str:
    return "; ".join(f"{row['title']}: {row['asks']}" for row in rows) or "none"

"""What changed since a submittal, in sentences: records, crew and posts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from typing import Any, NamedTuple
from uuid import UUID
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from certificates.models import Post, Project
from certificates.queries.owner_named import Named, day_of
from certificates.queries.qualified import COUNTING, NOT_CONFIRMED
from certificates.queries.standing import DOUBTFUL, REPLACED, SUSPENDED, WITHDRAWN
from certificates.wording import day as written
from training.said import said as in_words

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
            said = _("Post {code} ({title}) was taken off the project.").format(
                code=entry["code"], title=entry["title"]
            )
            found.append(Change("none", "bar", _("Post removed"), said, entry["code"]))
            continue
        differences = list(_differences(entry, post, needs.get(post.pk, [])))
        if differences:
            said = _("Post {code}: {differences}").format(
                code=post.code, differences=" ".join(differences)
            )
            found.append(Change("doubt", "half", _("Post changed"), said, post.code))
    for post in now.values():
        said = _("Post {code} ({title}) is new: no submittal says yet who covers it.").format(
            code=post.code, title=post.title
        )
        found.append(Change("doubt", "gap", _("Post added"), said, post.code))
    return found


def _of_one(each: Named, zone: ZoneInfo) -> Iterator[Change]:
    if not each.employed:
        yield Change(*each.now, _("{holder} is no longer on the crew.").format(holder=each.holder))
        return
    if each.standing is None:
        yield Change(
            *each.now,
            _("Record {number} of {holder} is not known here.").format(
                number=each.number, holder=each.holder
            ),
        )
        return
    if each.successor:
        told = (
            _("Record {number} of {holder} was replaced by {successor} on {day}.")
            if each.standing.since
            else _("Record {number} of {holder} was replaced by {successor}.")
        )
        said = told.format(
            number=each.number,
            holder=each.holder,
            successor=each.successor,
            day=_day(each.standing.since, zone),
        )
        yield Change("none", "bar", _("Record replaced"), said)
    if each.why:
        yield Change(*each.now, f"{each.holder}: {' '.join(each.why)}")
    elif each.counts != each.counted or each.now.tone != each.then.tone:
        yield Change(*each.now, _sentence(each, zone))
    if each.confirmed:
        told = (
            _(
                "The work of {holder} was confirmed for record {number}; the next confirmation is "
                "due by {day}."
            )
            if each.confirm_by
            else _(
                "The work of {holder} was confirmed for record {number}; none more is due before "
                "its last day."
            )
        )
        said = told.format(
            holder=each.holder,
            number=each.successor or each.number,
            day=written(each.confirm_by) if each.confirm_by else "",
        )
        yield Change("good", "check", _("Work confirmed"), said)


def _sentence(each: Named, zone: ZoneInfo) -> str:
    return _pattern(each).format(
        number=each.successor or each.number,
        holder=each.holder,
        since=_day(each.standing.since if each.standing else None, zone),
        confirm=written(each.confirm_by) if each.confirm_by else "",
        until=written(each.valid_until or date.max),
    )


def _pattern(each: Named) -> str:
    """The sentence in the reader's language, with braces for what it is about."""
    if each.counts and not each.counted:
        return _("Record {number} of {holder} counts again.")
    since = each.standing is not None and each.standing.since is not None
    if each.word == SUSPENDED and each.standing is not None:
        if since:
            return _("Record {number} of {holder} was suspended on {since}.")
        return _("Record {number} of {holder} was suspended.")
    if each.word == WITHDRAWN and each.standing is not None:
        if since:
            return _("Record {number} of {holder} was withdrawn on {since}.")
        return _("Record {number} of {holder} was withdrawn.")
    if each.word == DOUBTFUL:
        return _(
            "Record {number} of {holder} is doubtful: the key that signed it may have been in the "
            "hands of others."
        )
    if each.word == REPLACED:
        return _("Record {number} of {holder} was replaced by another, which is not known here.")
    if each.word == NOT_CONFIRMED and each.confirm_by:
        return _(
            "Record {number} of {holder} no longer counts: no work was confirmed by {confirm}."
        )
    if each.word in COUNTING:
        return _counting(each)
    return _("Record {number} of {holder} lapsed at the end of {until}.")


def _counting(each: Named) -> str:
    if each.valid_until and each.confirm_by:
        return _(
            "Record {number} of {holder} is valid until {until} and to be confirmed by {confirm}."
        )
    if each.valid_until:
        return _("Record {number} of {holder} is valid until {until}.")
    if each.confirm_by:
        return _("Record {number} of {holder} is to be confirmed by {confirm}.")
    return _("Record {number} of {holder} is current.")


def _day(moment: datetime | None, zone: ZoneInfo) -> str:
    return written(moment.astimezone(zone).date()) if moment else ""


def _of_project(entry: Mapping[str, Any], project: Project) -> Iterator[Change]:
    first, last = day_of(entry["starts_on"]), day_of(entry["ends_on"])
    if (first, last) != (project.starts_on, project.ends_on):
        said = _(
            "The project ran from {first} to {last}; now it runs from {first_now} to {last_now}."
        ).format(
            first=written(first),
            last=written(last),
            first_now=written(project.starts_on),
            last_now=written(project.ends_on),
        )
        yield Change("doubt", "half", _("Days changed"), said)


def _differences(
    entry: Mapping[str, Any], post: Post, needs: list[dict[str, str]]
) -> Iterator[str]:
    day = written
    pairs = (
        (_("title was {before}, is {after}."), entry["title"], post.title),
        (_("places was {before}, is {after}."), entry["places"], post.places),
        (_("leads was {before}, is {after}."), entry["leads"], post.leads),
        (
            _("first day was {before}, is {after}."),
            day(day_of(entry["starts_on"])),
            day(post.starts_on),
        ),
        (_("last day was {before}, is {after}."), day(day_of(entry["ends_on"])), day(post.ends_on)),
        (
            _("program was {before}, is {after}."),
            _program(entry["program"]),
            _program_of(post.program),
        ),
        (
            _("program of the lead was {before}, is {after}."),
            _program(entry["lead_program"]),
            _program_of(post.lead_program),
        ),
        (_("conditions was {before}, is {after}."), _asked(entry["needs"]), _asked(needs)),
    )
    for told, before, after in pairs:
        if before != after:
            yield told.format(before=before, after=after)


def _program(entry: Mapping[str, Any] | None) -> str:
    if not entry:
        return _("none")
    return _("{code}, version {version}").format(code=entry["code"], version=entry["version"])


def _program_of(program: Any) -> str:
    if not program:
        return _("none")
    return _("{code}, version {version}").format(code=program.code, version=program.version)


def _asked(rows: Iterable[Mapping[str, str]]) -> str:
    return "; ".join(f"{row['title']}: {in_words(row['asks'])}" for row in rows) or _("none")

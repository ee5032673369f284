"""The machine-readable submittal, ``bankermark/submittal/1`` (SUBMITTAL_FORMAT.md beside the app).

A ``Statement`` is what the contractor is shown before signing; ``finished`` makes the document of
it by adding who submits, when, under which number, and how each gap is met. Plain JSON without
floats; the digest is SHA-256 over its RFC 8785 form.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from certificates.coverage import Coverage, Span
from certificates.models import Post, Project
from certificates.queries.qualified import Held
from training.digests import digest

SCHEMA = "bankermark/submittal/1"
LEAD = "/lead"
KEY_LETTERS = 16


@dataclass(frozen=True)
class Gap:
    """Places that nobody can fill: ``spans`` are the stretches of days, both ends included."""

    key: str
    sentence: str
    posts: tuple[str, ...]
    places: int
    unfilled: int
    spans: tuple[tuple[date, date], ...]


@dataclass(frozen=True)
class Statement:
    """What is to be signed, as it stands on a day; ``seen`` is the digest of all of it.

    ``document`` lacks what ``finished`` adds. ``records`` are those named in it.
    """

    project: Project
    document: dict[str, Any]
    gaps: tuple[Gap, ...]
    records: frozenset[UUID]
    seen: str


@dataclass(frozen=True)
class Grounds:
    """What a statement is made from, beside the project.

    ``people`` maps the key of a person to the name; ``held`` maps the key of a place and of a
    person to the record that it is filled by. ``needs`` are rows {key, title, asks} by the key of
    a post, ``ranges`` rows {key, title, covers, rule} by standard, ``providers`` gives the
    name of an issuer by key, ``addresses`` where a record is checked by its number.
    """

    posts: Sequence[Post]
    coverage: Coverage
    people: Mapping[int, str]
    held: Mapping[tuple[str, int], Held]
    needs: Mapping[UUID, list[dict[str, str]]]
    ranges: Mapping[UUID, list[dict[str, str]]]
    providers: Mapping[int, str]
    addresses: Mapping[str, str]


def statement_of(project: Project, grounds: Grounds, *, day: date) -> Statement:
    """Return what there is to sign on ``day``, a date in the project's time zone."""
    gaps = gaps_of(grounds.coverage.spans)
    used = _used(grounds)
    document = {
        "schema": SCHEMA,
        "day": day.isoformat(),
        "project": {
            "name": project.name,
            "place": project.place,
            "time_zone": project.time_zone,
            "starts_on": project.starts_on.isoformat(),
            "ends_on": project.ends_on.isoformat(),
        },
        "contractor": _party(project.contractor.name, project.contractor.address),
        "owner": _party(project.owner.name, project.owner.address) if project.owner else None,
        "coverage": [
            {**_stretch(span.first, span.last), "places": span.places, "filled": span.filled}
            for span in grounds.coverage.spans
        ],
        "posts": [_post(post, grounds, used) for post in grounds.posts],
        "gaps": [_gap(gap) for gap in gaps],
        "first_break": _first_break(grounds.coverage),
    }
    records = frozenset(one.record_id for rows in used.values() for one in rows)
    return Statement(project, document, gaps, records, digest(document))


def finished(
    statement: Statement,
    *,
    number: int,
    by: str,
    at: datetime,
    met_by: Mapping[str, str],
) -> dict[str, Any]:
    """Return the document to sign; ``met_by`` has the contractor's words for the key of each gap.

    ``at`` is an aware instant; it is told in the project's time zone with its offset.
    """
    zone = ZoneInfo(statement.project.time_zone)
    gaps = [
        {**row, "met_by": met_by[gap.key]}
        for row, gap in zip(statement.document["gaps"], statement.gaps, strict=True)
    ]
    return {
        **statement.document,
        "number": number,
        "submitted_at": at.astimezone(zone).isoformat(timespec="seconds"),
        "submitted_by": by,
        "gaps": gaps,
    }


def gaps_of(spans: Iterable[Span]) -> tuple[Gap, ...]:
    """Return each gap once, with all stretches of days that it lasts; touching ones are joined."""
    found: dict[tuple[str, tuple[str, ...]], list[tuple[date, date]]] = {}
    first: dict[tuple[str, tuple[str, ...]], Any] = {}
    for span in spans:
        for gap in span.gaps:
            name = (gap.sentence, gap.posts)
            days = found.setdefault(name, [])
            first.setdefault(name, gap)
            if days and (span.first - days[-1][1]).days == 1:
                days[-1] = (days[-1][0], span.last)
            else:
                days.append((span.first, span.last))
    return tuple(
        Gap(_key(name), name[0], name[1], first[name].places, first[name].unfilled, tuple(days))
        for name, days in found.items()
    )


def _key(name: tuple[str, tuple[str, ...]]) -> str:
    """Return a name for the gap that stays while the gap does, whatever its days."""
    text = "\n".join((name[0], *name[1]))
    return hashlib.sha256(text.encode()).hexdigest()[:KEY_LETTERS]


def _used(grounds: Grounds) -> dict[tuple[str, int], list[Held]]:
    """Return the records by which each person fills each place that is given to the person."""
    found: dict[tuple[str, int], list[Held]] = {}
    for span in grounds.coverage.spans:
        for place, people in span.assigned.items():
            keys = (place, place.removesuffix(LEAD)) if place.endswith(LEAD) else (place,)
            for person in map(int, people):
                rows = [grounds.held[key, person] for key in keys if (key, person) in grounds.held]
                # A lead may need one program for both: the record is told once.
                found[place, person] = list({one.record_id: one for one in rows}.values())
    return found


def _post(
    post: Post, grounds: Grounds, used: Mapping[tuple[str, int], list[Held]]
) -> dict[str, Any]:
    lead = post.lead_program
    return {
        "code": post.code,
        "title": post.title,
        "work": post.work,
        "program": _program(post.program.code, post.program.version, post.program.title),
        "lead_program": _program(lead.code, lead.version, lead.title) if lead else None,
        "masons_per_lead": post.masons_per_lead,
        "needs": grounds.needs.get(post.pk, []),
        "places": post.places,
        "leads": post.leads,
        **{"starts_on": post.starts_on.isoformat(), "ends_on": post.ends_on.isoformat()},
        "covered_by": [
            row
            for place in (f"{post.code}{LEAD}", post.code)
            for row in _covered_by(place, grounds, used)
        ],
    }


def _covered_by(
    place: str, grounds: Grounds, used: Mapping[tuple[str, int], list[Held]]
) -> list[dict[str, Any]]:
    """Return a row for each record of each person, by name."""
    people = sorted(
        (person for key, person in used if key == place),
        key=lambda person: (grounds.people[person].casefold(), person),
    )
    return [
        {
            "holder": grounds.people[person],
            "lead": place.endswith(LEAD),
            "number": one.number,
            "check_url": grounds.addresses[one.number],
            "issuer": grounds.providers[one.provider_id],
            "program": one.program_code,
            "program_title": one.program_title,
            "version": one.program_version,
            "range": grounds.ranges.get(one.standard_id, []),
            "valid_until": one.valid_until.isoformat() if one.valid_until else None,
            "confirm_by": one.confirm_by.isoformat() if one.confirm_by else None,
            "word": one.word,
            "spans": _days_at(place, person, grounds.coverage.spans),
        }
        for person in people
        for one in used[place, person]
    ]


def _days_at(place: str, person: int, spans: Iterable[Span]) -> list[dict[str, str]]:
    """Return the stretches of days on which the person is the one for the place."""
    found: list[tuple[date, date]] = []
    for span in spans:
        if str(person) not in span.assigned.get(place, ()):
            continue
        if found and (span.first - found[-1][1]).days == 1:
            found[-1] = (found[-1][0], span.last)
        else:
            found.append((span.first, span.last))
    return [_stretch(*days) for days in found]


def _gap(gap: Gap) -> dict[str, Any]:
    return {
        "posts": list(gap.posts),
        "places": gap.places,
        "unfilled": gap.unfilled,
        "spans": [_stretch(*days) for days in gap.spans],
        "sentence": gap.sentence,
    }


def _first_break(coverage: Coverage) -> dict[str, str] | None:
    found = coverage.breaks
    return {"day": found.day.isoformat(), "sentence": found.sentence} if found else None


def _stretch(first: date, last: date) -> dict[str, str]:
    return {"first": first.isoformat(), "last": last.isoformat()}


def _party(name: str, address: str) -> dict[str, str]:
    return {"name": name, "address": address}


def _program(code: str, version: int, title: str) -> dict[str, Any]:
    return {"code": code, "version": version, "title": title}

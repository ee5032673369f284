"""What was set aside, in words that a person reads; its content may be anything at all."""

import json
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from assessments.actions.site.photo_event import KIND as PHOTO
from assessments.engine.standard import Standard, load_standard
from assessments.lengths import told
from assessments.models import Attempt, Observation, Photo, SealedStandard, SetAside
from assessments.subjects import find_subject, judge_subject, subjects_of
from training.errors import Refused
from training.models import Person
from training.queries.scope import runs_visible_to

LONGEST = 300
LONGEST_VALUE = 120  # of one that cannot be said in words; the page of the event has all of it


@dataclass(frozen=True)
class About:
    """An attempt that an event names: whose it is, and under which standard."""

    attempt: Attempt
    document: Mapping[str, Any]
    standard: Standard


@dataclass(frozen=True)
class Content:
    """What an event says: of what and whom, the value in words, the note, when by the device."""

    photo: bool
    what: str
    whom: str
    value: str
    note: str
    when: datetime | str


def set_aside_visible_to(person: Person) -> QuerySet[SetAside]:
    """Return what was set aside on the runs that ``person`` leads or teaches."""
    return SetAside.objects.filter(pack__run__in=runs_visible_to(person).order_by())


def about_attempts(rows: Iterable[SetAside]) -> dict[str, About]:
    """Return what is known of the attempts that the events name, by id (two queries)."""
    named = {key for row in rows if (key := _uuid(row.body.get("attempt")))}
    attempts = list(Attempt.objects.filter(pk__in=named).select_related("enrolment__person"))
    standards = SealedStandard.objects.in_bulk({each.standard_id for each in attempts})
    loaded = {key: load_standard(each.document) for key, each in standards.items()}
    return {
        str(each.pk): About(each, standards[each.standard_id].document, loaded[each.standard_id])
        for each in attempts
    }


def content_of(row: SetAside, about: Mapping[str, About]) -> Content:
    """Return what the event of ``row`` says, as far as it can be read (no query)."""
    body = row.body
    named = _uuid(body.get("attempt"))
    known = about.get(str(named)) if named else None
    photo = body.get("kind") == PHOTO
    return Content(
        photo=photo,
        what=_what(body, known),
        whom=str(known.attempt.enrolment.person) if known else "",
        value=_("A photograph") if photo else _value(body, known),
        note=_short(body.get("note") or ""),
        when=_when(body.get("claimed_at") if photo else body.get("device_time")),
    )


def words_of(observation: Observation, about: Mapping[str, About]) -> str:
    """Return what an observation says, in words (no query)."""
    subject = {"kind": observation.subject_kind, "key": observation.subject_key}
    body = {"subject": subject, "value": observation.value}
    return _value(body, about.get(str(observation.attempt_id)))


def taken_in(rows: Iterable[SetAside]) -> frozenset[int]:
    """Return the keys of those that were taken in; their answers must be loaded (one query).

    An observation stands in the answer; a photograph is known by its id.
    """
    answered = [row for row in rows if hasattr(row, "answer")]
    photos = {row.pk: key for row in answered if (key := _photo_id(row))}
    there = set(Photo.objects.filter(pk__in=photos.values()).values_list("pk", flat=True))
    return frozenset(
        row.pk for row in answered if row.answer.observation_id or photos.get(row.pk) in there
    )


def _photo_id(row: SetAside) -> uuid.UUID | None:
    return _uuid(row.event_id) if row.body.get("kind") == PHOTO else None


def _subject(body: Mapping[str, Any]) -> tuple[str, str]:
    subject = body.get("subject")
    if not isinstance(subject, dict):
        return "", ""
    return _short(subject.get("kind", "")), _short(subject.get("key", ""))


def _what(body: Mapping[str, Any], known: About | None) -> str:
    kind, key = _subject(body)
    found = find_subject(subjects_of(known.document), kind, key) if known else None
    return found.title if found else key


def _value(body: Mapping[str, Any], known: About | None) -> str:
    value = body.get("value", body)
    kind, key = _subject(body)
    if known and isinstance(value, dict):
        try:
            return told(judge_subject(known.standard, kind, key, value).sentence)
        except (Refused, ValueError):
            pass
    return _short(json.dumps(value, ensure_ascii=False), LONGEST_VALUE)


def _when(value: object) -> datetime | str:
    try:
        return datetime.fromisoformat(value) if isinstance(value, str) else ""
    except ValueError:
        return _short(value)


def _short(value: object, longest: int = LONGEST) -> str:
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    return text if len(text) <= longest else f"{text[:longest]}…"


def _uuid(value: object) -> uuid.UUID | None:
    try:
        return uuid.UUID(value) if isinstance(value, str) else None
    except ValueError:
        return None

"""Keeping an event that was not taken in: whole, whatever it is, and once."""

import hashlib
import json
import re
import uuid
from typing import Any

from assessments.actions.events import LARGEST_SEQ
from assessments.engine.canonical import canonical
from assessments.engine.errors import EngineError
from assessments.models import Pack, SetAside

LONGEST_ID = 80
# What PostgreSQL's JSON cannot hold, as Python writes it: U+0000, and numbers such as 1e999.
_UNHELD = re.compile(r"\\u0000|Infinity|NaN")


def readable_id(event: object) -> str | None:
    """Return the id that an event can be answered by; None where it has none."""
    named = event.get("id") if isinstance(event, dict) else None
    if not isinstance(named, str) or not 0 < len(named) <= LONGEST_ID:
        return None
    return named if named.isprintable() else None


def digest_of(event: object, pack: Pack) -> str:
    """Return the SHA-256 by which an event of this pack's assessor is kept aside.

    It is over the canonical form of {assessor, event}; where that has none, such as with
    floats, over plain JSON with sorted keys.
    """
    document = {"assessor": str(pack.assessor_id), "event": event}
    try:
        form = canonical(document)
    except EngineError:
        form = json.dumps(document, sort_keys=True).encode()
    return hashlib.sha256(form).hexdigest()


def set_aside_row(
    pack: Pack, event: object, event_id: str | None, digest: str, why: tuple[str, str]
) -> SetAside:
    """Return the row, not saved yet; an event without an id is kept under its digest.

    ``why`` is (reason, sentence).
    """
    reason, sentence = why
    return SetAside(
        event_id=event_id or digest,
        pack=pack,
        assessor=pack.assessor,
        epoch=_epoch(event),
        seq=_seq(event),
        body=_body(event),
        content_digest=digest,
        reason=reason,
        sentence=sentence,
    )


def _body(event: object) -> dict[str, Any]:
    """Return the event; as {"json": its JSON text} where the database cannot hold it as it is."""
    text = json.dumps(event, ensure_ascii=False)
    if isinstance(event, dict) and not _UNHELD.search(text) and _whole_characters(text):
        return event
    return {"json": json.dumps(event)}


def _whole_characters(text: str) -> bool:
    try:
        text.encode()
    except UnicodeEncodeError:  # half of a surrogate pair
        return False
    return True


def _epoch(event: object) -> uuid.UUID | None:
    named = event.get("epoch") if isinstance(event, dict) else None
    try:
        return uuid.UUID(named) if isinstance(named, str) else None
    except ValueError:
        return None


def _seq(event: object) -> int | None:
    seq = event.get("seq") if isinstance(event, dict) else None
    if not isinstance(seq, int) or isinstance(seq, bool):
        return None
    return seq if 1 <= seq <= LARGEST_SEQ else None

"""Events that no scoring page makes: what a fault in it, or a worn-out store, might send."""

import uuid
from typing import Any

Body = dict[str, Any]

# Each changes a good event. The server must take every one in, whole or set aside.
POISONS: dict[str, Body] = {
    "level that is none": {"value": {"level": 99}},
    "value of another kind": {"value": {"count": -1}},
    "value not an object": {"value": [1, 2]},
    "fraction as a float": {"value": {"level": 1.5}},
    "number past every column": {"value": {"level": 10**40}},
    "deep value": {"value": {"level": [[[[[[[[]]]]]]]]}},
    "unknown subject": {"subject": {"kind": "criterion", "key": "nowhere"}},
    "subject of no kind": {"subject": None},
    "zero byte": {"note": "a\0b"},
    "half a character": {"note": "\ud83d"},
    "long note": {"note": "x" * 5000},
    "unknown attempt": {"attempt": str(uuid.UUID(int=7))},
    "attempt not a UUID": {"attempt": "first"},
    "sequence in words": {"seq": "one"},
    "sequence past every column": {"seq": 10**30},
    "sequence of zero": {"seq": 0},
    "time without a zone": {"device_time": "2026-11-03T10:15:00"},
    "zone unknown": {"device_zone": "America/Port_Ellery"},
    "newer schema": {"schema_version": 2},
    "other standard": {"standard_digest": "0" * 64},
    "field too many": {"colour": "red"},
    "replaces nothing known": {"replaces": str(uuid.UUID(int=8))},
    "id not a UUID": {"id": "the first"},
    "kind unknown": {"kind": "thumbprint"},
    "kind not text": {"kind": 5},
}


def poisoned(body: Body, kind: str) -> Body:
    """Return ``body`` with the fault ``kind``; an id that is not the fault stays unique."""
    changed = {**body, **POISONS[kind]}
    if "id" in POISONS[kind]:
        changed["id"] += str(uuid.uuid4())
    return changed

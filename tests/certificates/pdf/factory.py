"""A record document as issuing builds it: invented people, firms, stone and figures."""

from typing import Any

from assessments.engine.canonical import digest
from assessments.engine.decide import decide
from tests.certificates.pdf.standard import CRITERIA, OUTCOMES, STAGES

Document = dict[str, Any]
LONG_NAME = "Þórhildur Wójcikówna-Šafářová Nguyễn Thị Minh Khai de Oliveira e Gonçalves"
NUMBER = "7K3M-Q9WD-2XRA-58TN"


def make_record(**changes: Any) -> Document:
    """A record of the dutchman program, decided by the engine; keywords replace members."""
    standard, observations = make_standard(), make_observations()
    decision = decide(standard, observations)
    return {
        "schema": "bankermark/record/1",
        "number": NUMBER,
        "issuer": {
            "name": "Ashlar Row Training Yard",
            "address": "14 Ashlar Row, Port Ellery",
        },
        "holder": {"name": "Zdeněk Óskarsson"},
        "program": {
            "code": "DUTCHMAN",
            "version": "2.1",
            "title": "Dutchman repair in sandstone sills and jambs",
            "scope": (
                "Cutting out, dry fitting and setting a pinned dutchman of up to 8 × 6 × 4 in "
                "in a sandstone sill or jamb, and dressing it to match."
            ),
        },
        "course_run": {
            "site": "Fennimore Customs House, east elevation",
            "starts_on": "2026-09-14",
            "ends_on": "2026-09-25",
        },
        "conditions": [
            {"name": "Stone", "value": "Fennimore sandstone, medium grained, bed horizontal"},
            {"name": "Position", "value": "Window sill, second lift, fixed scaffold"},
            {"name": "Mortar", "value": "Hydraulic lime NHL 3.5, 1 : 2 1/2 by volume"},
            {"name": "Weather", "value": "52 to 61 °F, dry, sheeted"},
        ],
        "outcomes": [
            {
                "key": outcome["key"],
                "statement": outcome["statement"],
                "result": "met" if decided["met"] else "not_met",
                "score": decided["score"],
            }
            for outcome, decided in zip(OUTCOMES, decision["outcomes"], strict=True)
        ],
        "result": decision["result"],
        "decided_at": "2026-09-25T16:40:00-04:00",
        "assessors": [
            {"id": "a1", "name": "Imani Castellane"},
            {"id": "a2", "name": "Tomasz Wieland"},
        ],
        "standard": standard,
        "standard_digest": digest(standard),
        "sealed_at": "2026-08-30T09:15:00-04:00",
        "sealed_by": "Odile Brandreth",
        "observations": observations,
        "decision": decision,
        "issued_at": "2026-09-28T10:05:00-04:00",
        "valid_until": "2029-09-28",
        "check_url": f"https://records.example.org/check/{NUMBER}",
        "replaces": None,
        **changes,
    }


def make_standard() -> Document:
    """The sealed standard with its 14 criteria."""
    return {
        "schema": "bankermark/standard/1",
        "program": {
            "code": "DUTCHMAN",
            "version": "2.1",
            "title": "Dutchman repair in sandstone sills and jambs",
        },
        "outcomes": OUTCOMES,
        "stages": STAGES,
        "dimensions": {
            "opening_width": {"value": "6", "unit": "in"},
            "opening_depth": {"value": "3", "unit": "in"},
            "joint": {"value": "1/8", "unit": "in"},
        },
        "criteria": CRITERIA,
        "pass_rule": {
            "critical": True,
            "outcome_minima": True,
            "cut": "0.7",
            "band": "0.05",
            "assessors": {"required": 1, "combine": "mean"},
        },
    }


def _readings(*typed: str) -> Document:
    return {
        "readings": [
            {"typed": f'{text}"', "value": _fraction(text), "unit": "in"} for text in typed
        ]
    }


def _fraction(text: str) -> str:
    whole, _, part = text.rpartition(" ")
    if not whole:
        return part
    top, bottom = part.split("/")
    return f"{int(whole) * int(bottom) + int(top)}/{bottom}"


SEEN: list[tuple[str, Document, str]] = [
    ("dust", {"answer": True}, ""),
    ("cut_edges", {"level": 2}, ""),
    ("opening_width", _readings("6", "6 1/64", "6 1/64", "5 63/64"), ""),
    ("opening_depth", _readings("3 1/16", "3 1/32", "3 3/64", "3 1/16"), ""),
    ("piece_width", _readings("5 3/4", "5 49/64", "5 3/4"), ""),
    ("bed", {"answer": True}, "Bed marked on the back of the piece before cutting."),
    ("pins", {"count": 2}, ""),
    ("dry_fit_gap", _readings("1/8", "9/64", "1/8", "7/64"), ""),
    ("pot_life", {"start": "2026-09-24T10:02:00-04:00", "end": "2026-09-24T10:26:00-04:00"}, ""),
    ("voids", {"count": 0}, ""),
    ("face", _readings("1/32", "1/32", "3/64"), "Left proud on purpose, dressed on 25 September."),
    ("joint", {"level": 2}, ""),
    ("tooling", {"level": 2}, ""),
    ("water", {"not_applicable": True, "reason": "No drip on this sill."}, ""),
]


def make_observations() -> Document:
    """One assessor's observations; the face was entered twice and the first one replaced."""
    rows = [_observation(key, value, note) for key, value, note in SEEN]
    slip = _observation("face", _readings("1/32", "1/32", "3/4"), "")
    slip["id"] = "slip"
    face = next(row for row in rows if row["subject"]["key"] == "face")
    face["replaces"] = "slip"
    accepted = _observation("dry_fit", {"accepted": True}, "")
    accepted["subject"]["kind"] = "hold_point"
    return {
        "schema": "bankermark/observations/1",
        "attempt": "0b1f6a52-59f8-4c0e-9a77-3f8f5a0f1d11",
        "observations": [slip, *rows, accepted],
    }


def _observation(key: str, value: Document, note: str) -> Document:
    return {
        "id": f"o-{key}",
        "subject": {"kind": "criterion", "key": key},
        "assessor": "a1",
        "value": value,
        "note": note,
        "replaces": None,
    }

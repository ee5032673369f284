"""The invented sealed standard of the test record: 14 criteria of every kind."""

from typing import Any

OUTCOMES: list[dict[str, Any]] = [
    {
        "key": "O1",
        "statement": "Prepare and cut the opening without harm to sound stone or to people",
        "minimum": "0.6",
    },
    {
        "key": "O2",
        "statement": "Make, pin and set a piece that lies on its natural bed",
        "minimum": "0.6",
    },
    {
        "key": "O3",
        "statement": "Finish the repair so that it sheds water and matches its neighbors",
        "minimum": "0.6",
    },
]

STAGES: list[dict[str, Any]] = [
    {"key": "cut", "title": "Cut out", "hold_point": False},
    {"key": "dry_fit", "title": "Dry fit", "hold_point": True},
    {"key": "set", "title": "Set", "hold_point": False},
    {"key": "finish", "title": "Finish", "hold_point": False},
]

EDGES = [
    ("0", "Overcuts run into sound stone."),
    ("1", "Edges wander or are plucked."),
    ("2", "Edges straight, corners cut by hand, arrises mostly clean."),
    ("3", "Edges straight and square, corners crisp, no overcut."),
]
JOINTS = [
    ("0", "Joint open, smeared or feathered."),
    ("1", "Joint full, but uneven or stained."),
    ("2", "Joint full, even, held back from the face."),
]
TOOLING = [
    ("0", "Surface sawn or ground."),
    ("1", "Tooled, but in another direction or pitch."),
    ("2", "Tooled in the direction of the old work."),
    ("3", "Cannot be told from the old work at six feet."),
]


def _criterion(key: str, title: str, stage: str, kind: str, **more: Any) -> dict[str, Any]:
    outcome = more.pop("outcome")
    return {
        "key": key,
        "title": title,
        "stage": stage,
        "kind": kind,
        "critical": False,
        "not_applicable": False,
        "weight": "1",
        "outcomes": {outcome: "1"},
        "guidance": "",
        **more,
    }


def _levels(rows: list[tuple[str, str]], met_from: int) -> dict[str, Any]:
    return {
        "levels": [{"points": points, "description": text} for points, text in rows],
        "met_from": met_from,
    }


def _measured(readings: int, lower: str | None, upper: str | None, **more: Any) -> dict[str, Any]:
    return {
        "quantity": "length",
        "unit": "in",
        "readings": readings,
        "statistic": "each",
        "limits": {"lower": lower, "upper": upper},
        "limits_source": "Project specification 04 01 40, invented for this test",
        "instrument": {
            "name": "Steel rule, 1/64 in divisions",
            "maximum_permissible_error": "1/128",
            "resolution": "1/64",
            "ends": 2,
        },
        "decision_rule": {"kind": "guard_band", "r": "1"},
        "coverage_factor": "2",
        "minimum_ratio": None,
        **more,
    }


CRITERIA: list[dict[str, Any]] = [
    _criterion(
        "dust",
        "Water or extraction runs whenever stone is cut",
        "cut",
        "checked",
        outcome="O1",
        critical=True,
        expected=True,
    ),
    _criterion(
        "cut_edges", "Edges of the opening", "cut", "rated", outcome="O1", **_levels(EDGES, 2)
    ),
    _criterion(
        "opening_width",
        "Width of the opening",
        "cut",
        "measured",
        outcome="O1",
        **_measured(4, "opening_width - 1/16 in", "opening_width + 1/16 in"),
    ),
    _criterion(
        "opening_depth",
        "Depth of the opening",
        "cut",
        "measured",
        outcome="O1",
        critical=True,
        **_measured(4, "opening_depth", None, statistic="smallest"),
    ),
    _criterion(
        "piece_width",
        "Width of the piece",
        "dry_fit",
        "measured",
        outcome="O2",
        **_measured(
            3,
            "opening_width - 2 * joint - 1/32 in",
            "opening_width - 2 * joint + 1/32 in",
            statistic="mean",
        ),
    ),
    _criterion(
        "bed",
        "Piece lies on its natural bed",
        "dry_fit",
        "checked",
        outcome="O2",
        critical=True,
        expected=True,
    ),
    _criterion(
        "pins",
        "Stainless pins, drilled and clean",
        "dry_fit",
        "counted",
        outcome="O2",
        what="pins",
        limits={"lower": "2", "upper": None},
    ),
    _criterion(
        "dry_fit_gap",
        "Joint at the dry fit",
        "dry_fit",
        "measured",
        outcome="O2",
        **_measured(4, "joint - 1/16 in", "joint + 1/16 in"),
    ),
    _criterion(
        "pot_life",
        "Adhesive placed within its pot life",
        "set",
        "timed",
        outcome="O2",
        limits={"lower": None, "upper": "30"},
        unit="min",
    ),
    _criterion(
        "voids",
        "No voids behind the piece when sounded",
        "set",
        "counted",
        outcome="O2",
        critical=True,
        what="hollow spots",
        limits={"lower": None, "upper": "0"},
    ),
    _criterion(
        "face",
        "Face proud of the old work before dressing",
        "set",
        "measured",
        outcome="O3",
        **_measured(3, "1/64", "1/16"),
    ),
    _criterion(
        "joint", "Joint, filled and struck", "finish", "rated", outcome="O3", **_levels(JOINTS, 1)
    ),
    _criterion(
        "tooling",
        "Tooling matches the old work",
        "finish",
        "rated",
        outcome="O3",
        **_levels(TOOLING, 2),
    ),
    _criterion(
        "water",
        "Drip and weathering carried through",
        "finish",
        "checked",
        outcome="O3",
        not_applicable=True,
        expected=True,
    ),
]

"""The table of decisions worked out by hand (cases.toml)."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from assessments.engine import decide, replay
from tests.engine import builders

CASES: list[dict[str, Any]] = tomllib.loads(
    (Path(__file__).parent / "cases.toml").read_text(encoding="utf-8")
)["case"]
FINDINGS = (("found", "ann"), ("found2", "ben"), ("found3", "cai"))


def criterion(row: dict[str, Any]) -> dict[str, Any]:
    """The criterion of a row of the table."""
    common = {"weight": row.get("weight", "1"), "outcomes": row.get("serves", {"O1": "1"})}
    common |= {"critical": row.get("critical", False), "not_applicable": row.get("optional", False)}
    key = row["key"]
    if "points" in row:
        return builders.rated(key, row["points"], met_from=row.get("met_from", 2), **common)
    if "lower" in row or "upper" in row:
        found = builders.measured(key, row.get("lower"), row.get("upper"), **common)
        found |= {"readings": row.get("readings", 1), "statistic": row.get("statistic", "each")}
        if "r" in row:
            found["instrument"] |= {
                "maximum_permissible_error": row.get("error", "0"),
                "resolution": row["resolution"],
                "ends": row.get("ends", 1),
            }
            found["decision_rule"] = {"kind": "guard_band", "r": row["r"]}
        return found
    if "fewest" in row or "most" in row:
        return builders.counted(key, row.get("fewest"), row.get("most"), **common)
    if "minutes_from" in row or "minutes_to" in row:
        return builders.timed(key, row.get("minutes_from"), row.get("minutes_to"), **common)
    return builders.checked(key, **common)


def value(kind: str, found: Any) -> dict[str, Any]:
    """The observation's value for what a row of the table says."""
    if found == "n/a":
        return {"not_applicable": True, "reason": "no access"}
    if found == "none":
        return {"cleared": True}
    match kind:
        case "rated":
            return {"level": found}
        case "measured":
            return builders.readings(*found)
        case "counted":
            return {"count": found}
        case "timed":
            return builders.minutes(found)
        case _:
            return {"answer": found}


def documents(case: dict[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    """The standard and the observations of a case."""
    criteria = [criterion(row) for row in case["criteria"]]
    kinds = {each["key"]: each["kind"] for each in criteria}
    minima = case.get("minima", {})
    outcomes = [
        {"key": key, "statement": "Works", "minimum": minima.get(key)} for key in ("O1", "O2")
    ]
    rule = {
        name: case[name] for name in ("band", "guard_band", "combine", "required") if name in case
    }
    standard = builders.standard(
        *criteria,
        outcomes=outcomes,
        cut=case.get("cut"),
        critical=case.get("critical", True),
        outcome_minima=bool(minima),
        **rule,
    )
    rows = [
        builders.observation(key, value(kinds[key], found), assessor)
        for name, assessor in FINDINGS
        for key, found in case.get(name, {}).items()
    ]
    return standard, builders.observations(*rows)


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_case(case: dict[str, Any]) -> None:
    decision = decide(*documents(case))
    assert decision["result"] == case["result"]
    assert decision["overall"]["score"] == case.get("score")
    assert decision["overall"]["score_at_most"] == case.get("at_most", case.get("score"))
    scores = {each["key"]: each["score"] for each in decision["outcomes"]}
    for key, score in case.get("outcomes", {}).items():
        assert scores[key] == score
    assert [each["criterion"] for each in decision["practice"]] == case.get("practice", [])
    assert replay(decision["trace"])["result"] == case["result"]


def test_there_are_enough_cases_and_each_shows_its_sum() -> None:
    assert len(CASES) >= 40
    assert all(case["sum"] for case in CASES)
    assert len({case["name"] for case in CASES}) == len(CASES)

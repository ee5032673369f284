"""Random standards and observations for the properties."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from tests.engine import builders

POINTS = ("0", "1", "2", "4")
weights = st.sampled_from(["1", "2", "1/3", "0.7"])
shares = st.sampled_from(["0.25", "1/3", "0.5", "0.6", "2/3", "0.75", "1"])


@st.composite
def criteria(draw: st.DrawFn, most: int) -> list[dict[str, Any]]:
    """One to ``most`` criteria of any kind."""
    found = []
    for i in range(draw(st.integers(1, most))):
        common: dict[str, Any] = {
            "critical": draw(st.booleans()),
            "not_applicable": draw(st.booleans()),
            "weight": draw(weights),
            "outcomes": draw(st.dictionaries(st.sampled_from(["O1", "O2"]), weights, min_size=1)),
            "stage": draw(st.sampled_from(["S1", "S2"])),
        }
        kind = draw(st.sampled_from(["rated", "measured", "checked", "counted", "timed"]))
        key = f"{kind[0].upper()}{i}"
        match kind:
            case "rated":
                found.append(builders.rated(key, POINTS, **common))
            case "measured":
                found.append(builders.measured(key, **common, **draw(measuring())))
            case "checked":
                found.append(builders.checked(key, **common))
            case "counted":
                found.append(builders.counted(key, **common))
            case _:
                found.append(builders.timed(key, **common))
    return found


@st.composite
def measuring(draw: st.DrawFn) -> dict[str, Any]:
    """How a criterion is measured."""
    statistic = draw(st.sampled_from(["each", "mean", "largest", "smallest", "spread"]))
    guarded = draw(st.booleans())
    limits = draw(
        st.sampled_from(
            [
                {"lower": "5", "upper": "10"},
                {"lower": None, "upper": "gap + 7 mm"},
                {"lower": "gap * 2", "upper": None},
            ]
        )
    )
    return {
        "readings": draw(st.integers(1, 3)),
        "statistic": statistic,
        "limits": limits,
        "decision_rule": {"kind": "guard_band", "r": "1"} if guarded else {"kind": "simple"},
    }


@st.composite
def standards(draw: st.DrawFn, most: int) -> dict[str, Any]:
    """A standard whose rule decides something."""
    rows = draw(criteria(most))
    minima = draw(st.booleans())
    return builders.standard(
        *rows,
        outcomes=[
            {"key": key, "statement": "Works", "minimum": draw(st.none() | shares)}
            for key in ("O1", "O2")
        ],
        stages=[
            {"key": "S1", "title": "Cut", "hold_point": draw(st.booleans())},
            {"key": "S2", "title": "Set", "hold_point": False},
        ],
        dimensions={"gap": {"value": "3", "unit": "mm"}},
        critical=draw(st.booleans()),
        outcome_minima=minima,
        cut=draw(shares),
        band=draw(st.sampled_from([None, "0", "0.1"])),
        guard_band=draw(st.sampled_from(["not_met", "undecided"])),
        required=draw(st.sampled_from([1, 1, 1, 2])),
        combine=draw(st.sampled_from(["mean", "lower", "agreement"])),
    )


@st.composite
def values(draw: st.DrawFn, criterion: dict[str, Any], whole: bool) -> dict[str, Any]:
    """An observation's value for a criterion, mostly (or always) a whole one."""
    odd = draw(st.integers(1 if whole else 0, 19))
    if odd == 0:
        return {"cleared": True}
    if odd <= 3 and criterion["not_applicable"]:
        return {"not_applicable": True, "reason": "no access"}
    match criterion["kind"]:
        case "rated":
            return {"level": draw(st.integers(0, len(POINTS) - 1))}
        case "measured":
            count = criterion["readings"] - (odd == 4 and not whole)
            millimetres = st.sampled_from(["4.9", "5", "5.5", "6", "7.25", "9.6", "10", "10.1"])
            return builders.readings(*(draw(millimetres) for _ in range(count)))
        case "checked":
            return {"answer": draw(st.booleans())}
        case "counted":
            return {"count": draw(st.integers(0, 4))}
        case _:
            return builders.minutes(draw(st.integers(50, 70)))


@st.composite
def attempts(draw: st.DrawFn, whole: bool = False) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """A standard and the observations of one or two assessors.

    ``whole``: of one, nothing missing, few enough criteria to count out every set of changes.
    """
    standard = draw(standards(4 if whole else 6))
    if whole:
        standard["pass_rule"]["assessors"]["required"] = 1
    rows = []
    for assessor in ("ann",) if whole else draw(st.sampled_from([("ann",), ("ann", "ben")])):
        for criterion in standard["criteria"]:
            if whole or draw(st.integers(0, 24)):
                value = draw(values(criterion, whole))
                rows.append(builders.observation(criterion["key"], value, assessor))
    if standard["stages"][0]["hold_point"] and (whole or draw(st.integers(0, 5))):
        rows.append(builders.accepted("S1", whole or draw(st.integers(0, 5)) > 0))
    return standard, rows

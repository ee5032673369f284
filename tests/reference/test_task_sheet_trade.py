"""The task sheet against values from outside, through ``task_sheet`` as a mason reads it.

Where no source is named, the value was worked out anew with a general-purpose library or by
hand; the formulas are plane geometry. Volumes and masses are converted a second time by Pint,
whose unit table is independent of ours (NIST and BIPM definitions).
"""

from __future__ import annotations

import re
from typing import Any

import pint
import pytest

from assessments.engine.tasksheet import SheetSum, task_sheet

REGISTRY: pint.UnitRegistry[float] = pint.UnitRegistry()


def worked_out(**row: Any) -> SheetSum:
    [found] = task_sheet([row], {})
    return found


def results(**row: Any) -> dict[str, str]:
    return dict(worked_out(**row).results)


def figure(text: str, unit: str) -> float:
    """The number that stands before ``unit`` in a result."""
    match = re.search(rf"([0-9.]+) {re.escape(unit)}(?![a-z])", text)
    assert match, f"no {unit} in {text!r}"
    return float(match[1])


def converted(value: float, unit: str, to: str) -> float:
    return float(REGISTRY.Quantity(value, unit).to(to).magnitude)


@pytest.mark.parametrize(
    ("disc", "depth", "unit", "expected"),
    # Half a chord of a circle: s² = d·(D - d); recomputed.
    [
        ("115", "25", "mm", "about 47.434 mm"),
        ("125", "30", "mm", "about 53.385 mm"),
        ("230", "50", "mm", "about 94.868 mm"),
        ("4.5", "1", "in", "about 1.8708 in (1 7/8 in when rounded up to 1/64)"),
        ("125", "25", "mm", "50 mm"),  # 25·100 is a square
    ],
)
def test_disc(disc: str, depth: str, unit: str, expected: str) -> None:
    [(_, text)] = worked_out(sum="disc_reach", unit=unit, disc=disc, depth=depth).results
    assert text == expected


OPENING_MM = {"unit": "mm", "width": "150", "height": "100", "depth": "75"}
OPENING_IN = {"unit": "in", "width": "6", "height": "4", "depth": "3"}


def test_piece_in_millimetres() -> None:
    """150 × 100 × 75, joints 3, back 5, proud 2: 144 × 94 × 72 mm (geometry, recomputed)."""
    found = results(sum="piece", **OPENING_MM, joint="3", back="5", proud="2")
    assert found == {"Width": "144 mm", "Height": "94 mm", "Thickness": "72 mm"}


def test_piece_in_inches() -> None:
    """6 × 4 × 3 less 1/8 joints and back: 5.75 × 3.75 × 2.875 in (geometry, recomputed)."""
    found = results(sum="piece", **OPENING_IN, joint="1/8", back="1/8")
    assert found == {"Width": "5 3/4 in", "Height": "3 3/4 in", "Thickness": "2 7/8 in"}


def mass_of(unit: str, sizes: tuple[str, str, str], density: str, density_unit: str) -> str:
    width, height, depth = sizes
    return results(
        sum="mass", unit=unit, width=width, height=height, depth=depth, density=density,
        density_unit=density_unit, density_source="Invented", guide="hse",
    )["Mass"]  # fmt: skip


@pytest.mark.parametrize(
    ("unit", "sizes", "density", "density_unit", "expected", "shown"),
    # Recomputed: .9746 L at 2250 kg/m³; 61.99 in³ at 140 lb/ft³; 300 × 300 × 100 mm at 140 lb/ft³.
    [
        ("mm", ("144", "94", "72"), "2250", "kg/m3", 2.19, "kg"),
        ("in", ("23/4", "15/4", "23/8"), "140", "lb/ft3", 5.02, "lb"),
        ("mm", ("300", "300", "100"), "140", "lb/ft3", 44.496, "lb"),
        ("in", ("12", "12", "12"), "2000", "kg/m3", 56.63, "kg"),
    ],
)
def test_mass(
    unit: str,
    sizes: tuple[str, str, str],
    density: str,
    density_unit: str,
    expected: float,
    shown: str,
) -> None:
    found = figure(mass_of(unit, sizes, density, density_unit), shown)
    assert found == pytest.approx(expected, abs=5e-3)
    volume = 1.0
    for size in sizes:
        top, _, bottom = size.partition("/")
        volume *= float(top) / float(bottom or 1)
    by_pint = REGISTRY.Quantity(volume, f"{unit}**3") * REGISTRY.Quantity(
        float(density), density_unit.replace("ft3", "ft**3").replace("m3", "m**3")
    )
    assert found == pytest.approx(float(by_pint.to(shown).magnitude), abs=5.1e-3)


def test_a_slab_of_300_by_300_by_100_at_140_pcf_weighs_20_kg() -> None:
    """20.18 kg (recomputed)."""
    pounds = figure(mass_of("mm", ("300", "300", "100"), "140", "lb/ft3"), "lb")
    assert converted(pounds, "lb", "kg") == pytest.approx(20.18, abs=5e-3)


def test_bed_and_joint_mortar() -> None:
    """150·100·75 - 144·94·70 = 177 480 mm³ (by hand)."""
    text = results(sum="bed_mortar", **OPENING_MM, joint="3", back="5")["Mortar"]
    assert figure(text, "L") == pytest.approx(converted(177_480, "mm**3", "L"), abs=5e-5)


def test_bed_and_joint_mortar_in_inches() -> None:
    """6·4·3 - 5.75·3.75·2.875 = 10.0078 in³ (by hand); US fluid ounces by Pint."""
    text = results(sum="bed_mortar", **OPENING_IN, joint="1/8", back="1/8")["Mortar"]
    assert figure(text, "in³") == pytest.approx(10.0078125, abs=5e-3)
    ounces = converted(10.0078125, "in**3", "US_fluid_ounce")
    assert figure(text, "US fl oz") == pytest.approx(ounces, abs=5e-3)


def test_grout_of_a_pin() -> None:
    """1/4 in pin, 3/8 in hole, 2 in: .12272 in³ (recomputed); US fluid ounces by Pint."""
    row = {"sum": "pin_grout", "unit": "in", "rod": "1/4", "hole": "3/8", "length": "2"}
    one, ten = results(**row, count=1)["Grout"], results(**row, count=10)["Grout"]
    assert figure(one, "in³") == pytest.approx(0.12272, abs=5e-5)
    assert figure(ten, "in³") == pytest.approx(1.2272, abs=5e-3)
    ounces = converted(0.12272, "in**3", "US_fluid_ounce")
    assert figure(one, "US fl oz") == pytest.approx(ounces, abs=5e-5)


def test_grout_of_a_pin_in_millimetres() -> None:
    """The same pin in millimetres: .12272 in³ in millilitres by Pint."""
    text = results(sum="pin_grout", unit="mm", rod="6.35", hole="9.525", length="50.8", count=1)[
        "Grout"
    ]
    assert figure(text, "mL") == pytest.approx(converted(0.12272, "in**3", "mL"), abs=5e-3)


def test_repointing() -> None:
    """10 mm × 25 mm × 12 m: 3.000 L, with 15 % more 3.450 L (by hand)."""
    row = {"sum": "joint_mortar", "unit": "mm", "width": "10", "depth": "25", "length": "12000"}
    assert results(**row, waste="0.15") == {"Mortar": "3 L", "Mortar with waste": "3.45 L"}
    assert results(**row) == {"Mortar": "3 L"}


@pytest.mark.parametrize(
    ("unit", "depth", "thickness", "lifts", "each"),
    # 25 mm by 6 mm takes 5 lifts, 1 in by 1/4 in takes 4 (by hand).
    [("mm", "25", "6", "5", "5 mm"), ("in", "1", "1/4", "4", "1/4 in")],
)
def test_lifts(unit: str, depth: str, thickness: str, lifts: str, each: str) -> None:
    found = results(sum="lifts", unit=unit, depth=depth, thickness=thickness)
    assert list(found.values()) == [lifts, each]


def test_a_pin_in_its_hole() -> None:
    """3/8 in rod, 1/2 in hole, 1/16 in all round; 3/4 in shows: common practice, no source."""
    found = results(sum="pin_hole", unit="in", rod="3/8", hole="1/2", shows="3/4")
    assert list(found.values()) == ["1/16 in", "3/4 in"]


def test_vibration_of_the_ready_reckoner_example() -> None:
    """HSE ready-reckoner example: 10, 6, 3.5 m/s² for 15, 30, 90 min.

    50 + 36 + 36.75 = 122.75 points, A(8) 2.770 m/s². The example is from memory; the sum was
    recomputed by its formula 2·a²·t. Action value 100, limit 400.
    """
    tools = [
        {"tool": "Breaker", "m_s2": "10", "minutes": 15},
        {"tool": "Grinder", "m_s2": "6", "minutes": 30},
        {"tool": "Drill", "m_s2": "3.5", "minutes": 90},
    ]
    found = worked_out(sum="vibration", tools=tools, source="HSE example")
    texts = dict(found.results)
    assert [figure(texts[name], "points") for name in ("Breaker", "Grinder", "Drill")] == [
        50,
        36,
        36.75,
    ]
    assert figure(texts["Points of the day"], "points") == 122.75
    assert figure(texts["A(8), spread over 8 hours"], "m/s²") == pytest.approx(2.770, abs=5e-3)
    [(text, source)] = found.cautions
    assert "action value of 100" in text
    assert "L140" in source


def test_silica_over_eight_hours() -> None:
    """200 µg/m³ for 90 min: 37.5 (by hand). 29 CFR 1926.1153: limit 50, action level 25."""
    work = [{"work": "Cutting", "ug_m3": "200", "minutes": 90}]
    found = worked_out(sum="silica", work=work, source="Invented")
    assert found.results == (("Average over 8 hours", "37.5 µg/m³"),)
    [(text, source)] = found.cautions
    assert "action level of 25" in text
    assert "29 CFR 1926.1153" in source

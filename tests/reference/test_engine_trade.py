"""Sums for the task sheet against values worked out outside the engine.

Where no source is named, the value was worked out anew by hand or with a general-purpose
library; the formulas are plane geometry.
"""

from __future__ import annotations

from fractions import Fraction
from math import pi
from typing import Any

import pytest

from assessments.engine import EngineError, geometry

PCF = geometry.KILOGRAMS_PER_CUBIC_METRE


@pytest.mark.parametrize(
    ("diameter", "depth", "expected"),
    # Half a chord of a circle: s² = d·(D - d).
    [(115, 25, 47.434), (125, 30, 53.385), (230, 50, 94.868), (Fraction(9, 2), 1, 1.8708)],
)
def test_disc(diameter: Any, depth: Any, expected: float) -> None:
    assert geometry.disc_stops_short(diameter, depth) == pytest.approx(expected, abs=5e-4)


def test_disc_to_its_middle() -> None:
    assert geometry.disc_stops_short(10, 5) == 5
    with pytest.raises(EngineError, match="half its diameter"):
        geometry.disc_stops_short(10, Fraction(51, 10))


def test_piece_in_millimetres() -> None:
    opening = geometry.Block(150, 100, 75)
    found = geometry.piece(opening, joint=3, back=5, proud=2)
    assert (found.width, found.height, found.depth) == (144, 94, 72)
    assert float(found.volume) / 1e6 == pytest.approx(0.9746, abs=5e-5)
    assert float(geometry.mass_kilograms(found.volume, 2250)) == pytest.approx(2.19, abs=5e-3)
    assert geometry.bed_mortar(opening, joint=3, back=5) == 177_480


def test_piece_in_inches() -> None:
    found = geometry.piece(geometry.Block(6, 4, 3), joint=Fraction(1, 8), back=Fraction(1, 8))
    assert (found.width, found.height, found.depth) == (
        Fraction("5.75"),
        Fraction("3.75"),
        Fraction("2.875"),
    )
    assert float(geometry.mass_pounds(found.volume, 140)) == pytest.approx(5.02, abs=5e-3)


@pytest.mark.parametrize(("joint", "back"), [(50, 5), (3, 75), (-1, 5), (3, -5)])
def test_piece_that_cannot_be(joint: int, back: int) -> None:
    with pytest.raises(EngineError):
        geometry.piece(geometry.Block(150, 100, 75), joint, back)


def test_repointing() -> None:
    # 10 mm wide, 25 mm deep, 12 m long, in mm³: 3 L.
    litres = geometry.joint_mortar(10, 25, 12_000) / 10**6
    assert litres == 3
    assert geometry.with_waste(litres, Fraction(15, 100)) == Fraction("3.45")
    assert geometry.lifts(25, 6) == 5
    assert geometry.lifts(1, Fraction(1, 4)) == 4
    assert geometry.lifts(Fraction(26, 25), Fraction(1, 4)) == 5


def test_pins() -> None:
    assert geometry.clearance(Fraction(3, 8), Fraction(1, 2)) == Fraction(1, 16)
    assert geometry.hole_depth(Fraction(3, 4)) == Fraction(3, 4)
    assert geometry.hole_depth(Fraction(3, 4), Fraction(1, 8)) == Fraction(7, 8)
    grout = geometry.annulus_volume(Fraction(1, 4), Fraction(3, 8), 2)
    assert grout == pytest.approx(0.12272, abs=5e-6)
    assert grout == pytest.approx(2 * pi * ((3 / 16) ** 2 - (1 / 8) ** 2))
    with pytest.raises(EngineError, match="wider than the rod"):
        geometry.clearance(Fraction(1, 2), Fraction(3, 8))


def test_mass() -> None:
    # One pound per cubic foot is 16.018 463 kg/m³ (NIST SP 811, appendix B.9).
    assert float(PCF) == pytest.approx(16.01846, abs=5e-6)
    mass = geometry.mass_kilograms(300 * 300 * 100, 140 * PCF)
    assert float(mass) == pytest.approx(20.18, abs=5e-3)


@pytest.mark.parametrize(
    ("mass", "unit", "guide", "cautioned"),
    [
        # NIOSH 94-110, load constant 51 lb (23 kg); HSE L23, 25 kg; both from memory.
        (51, "lb", "niosh", False),
        (Fraction(5101, 100), "lb", "niosh", True),
        (23, "kg", "niosh", False),
        (24, "kg", "niosh", True),
        (25, "kg", "hse", False),
        (Fraction(2501, 100), "kg", "hse", True),
        (56, "lb", "hse", True),
    ],
)
def test_lifting(mass: Any, unit: Any, guide: Any, cautioned: bool) -> None:
    said = geometry.lifting_caution(mass, unit, guide)
    assert (said is not None) is cautioned
    if said is not None:
        assert "local codes" in said
        assert ("NIOSH 94-110" if guide == "niosh" else "L23") in said


def test_vibration() -> None:
    # HSE hand-arm vibration ready-reckoner: 10, 6, 3.5 m/s² for 15, 30, 90 minutes.
    spells: list[tuple[int | Fraction, int | Fraction]] = [(10, 15), (6, 30), (Fraction(7, 2), 90)]
    assert [geometry.vibration_points([each]) for each in spells] == [50, 36, Fraction("36.75")]
    assert geometry.vibration_points(spells) == Fraction("122.75")
    assert geometry.daily_vibration(Fraction("122.75")) == pytest.approx(2.770, abs=5e-4)
    # The action value of 2.5 m/s² is 100 points, the limit value of 5 m/s² is 400.
    assert geometry.daily_vibration(100) == 2.5
    assert geometry.daily_vibration(400) == 5
    assert geometry.vibration_caution(Fraction("99.99")) is None
    assert "Shorten" in (geometry.vibration_caution(100) or "")
    assert "Shorten" in (geometry.vibration_caution(Fraction("399.99")) or "")
    assert "Stop" in (geometry.vibration_caution(400) or "")


def test_silica() -> None:
    # 29 CFR 1926.1153: action level 25, limit 50 µg/m³, averages over 8 hours.
    assert geometry.silica_average([(200, 90)]) == Fraction("37.5")
    assert geometry.silica_average([(200, 90), (50, 240), (0, 150)]) == Fraction("62.5")
    assert geometry.silica_caution(Fraction("24.9")) is None
    assert "action level" in (geometry.silica_caution(25) or "")
    assert "action level" in (geometry.silica_caution(50) or "")
    assert "Stop" in (geometry.silica_caution(Fraction("50.1")) or "")


@pytest.mark.parametrize("spells", [[(200, 1441)], [(1, 720), (1, 721)], [(-1, 5)], [(1, -5)]])
def test_spells_that_cannot_be(spells: Any) -> None:
    for work in (geometry.silica_average, geometry.vibration_points):
        with pytest.raises(EngineError):
            work(spells)


def test_only_exact_numbers() -> None:
    with pytest.raises(EngineError, match="exact") as caught:
        geometry.disc_stops_short(115.0, 25)  # type: ignore[arg-type]
    assert caught.value.path == "diameter"

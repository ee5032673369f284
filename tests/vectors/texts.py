"""Texts as people type them, well and badly, for the reading of quantities."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

from assessments.engine.quantities import _WRITTEN_UNITS
from assessments.engine.units import QUANTITIES, UNITS

VULGAR = "¼½¾⅛⅜⅝⅞⅓⅔⅕⅖⅗⅘⅙⅚⅐⅑⅒"
# Signs that belong in a quantity, that look like them, and spaces that are no blanks.
SIGNS = [*"0123456789./-+ ,eE'\"″′’“−–‒‐‑⁄∕°%µμ½⅛⅓⅒½", *"infmctydgkNaNx", "٣", "５", "²", "İ", "😀"]
SIGNS += ["\t", "\n", "\x1c", "\x85", "\xa0", "\u2009", "\u2028", "\u3000", "\ufeff", "\x00"]
HOSTILE = [
    "", " ", "\t\n", "\ufeff", "-", "--", ".", "/", "'", '"', "''", "in", "mm", "°", "%", "e", "1e",
    "1e400", "1E400", "1e-400", "1 e 3", "1e+3", "1e3 mm", "0x10", "0b1", "1_000", "1,000", "1,5",
    "3,5 mm", "1.000,5", ",", "NaN", "nan mm", "inf", "-inf", "Infinity", "+inf", "infinity in",
    "-1", "-0", "-0.0", "−1", "–1", "--1", "- 1", "-1/2", "-40 °F", "-300 °C", "-- 40 °C", "+1",
    "1/0", "0/0", "1 1/0", "0/1", "1/1", "1 1/1", "1 2/2", "1 3/2", "3/2", "1-3/2", "1//2", "1/2/3",
    "1/-2", "1 -1/2", "1 - 1/2", "1- 1/2", "1 1 1/2", "1 1", "1 2 3", "1.", ".5", "1..5", "1.5.2",
    "1.5/2", "1.5 1/2", ". 5", "5' 6", "5'6\"", "5'-6\"", "5' - 6 1/2\"", "5ft6in", "5 ft 6 mm",
    "5' 6'", "5''6", "5'' 6'", "5'", "5' x", "1/2' 6", "5 1/2' 3/4\"", "5.5' 6.5\"",
    "5 feet 6 inches", "5 foot", "-5' 6\"", "5' -6\"", "5'--6\"", "5' 1/0\"", "1000 m",
    "1000.000000001 m", "1001 m", "1000000 mm", "1000001 mm", "39370 in", "39371 in", "3280 ft",
    "3281 ft", "1093 yd", "1094 yd", "9" * 40, "9" * 41, "0" * 40, "0" * 41, "1" + " " * 38 + "m",
    "😀" * 40, "😀" * 41, "0.0000001 mm", "0.000001 mm", "0.1 nm", "1 nm", "1/3 nm", "1/3 mm",
    "1/3 in", "1/127 in", "1/128 in", "1/1000 in", "1/7 in", "1/5 in", "1/9 in", "1/10 in",
    "1 1/10 ft", "1½½", "½½", "½ 1", "1½/2", "1/½", "1 ½ in", "1-½", "½'", "½\"", "½ ½", "5 kg",
    "5 s", "5 mm2", "5 mm²", "5 in2", "5 parsec", "5 mm mm", "5 mm.", "5 in.", "5 in..", "5mm",
    "5MM", "5 Mm", "5 IN", "5 M", "5 Ft", "5 ″", "5 ”", "5 ’ 6 ”", "5 um", "5 µm", "5 μm", "5 KG",
    "5 lbs", "5 LB", "5 Oz", "5 percent", "5 %", "5%", "5 1", "20 °C", "20 c", "20 degc", "68 °F",
    "45°", "45 degrees", "٣", "５ mm", "1\ufeff mm", "\ufeff1 mm", "1 mm\ufeff", "-\ufeff1",
    "1\xa0mm", "1\u2028mm", "1\x1cmm", "1\x85mm", "1\x00", "1\x00mm", "1 mm\n", "1\n1/2",
    "<script>", "1; drop", "${1}", "\\d", "1 mm (rough)", "about 5", "~5", "5+", "5 - 6", "5-6",
    "5 to 6",
]  # fmt: skip
RULE = (1, 2, 4, 8, 16, 32, 64)


def written(unit: str) -> list[str]:
    """The ways to write a unit."""
    return [unit, *_WRITTEN_UNITS.get(unit, ())]


def on_a_rule() -> Iterator[tuple[str, str]]:
    """Every mark of a rule in sixty-fourths of an inch up to 1 in, and some beyond it."""
    for below in RULE:
        for above in range(1, below + 1):
            yield f"{above}/{below}", "in"
        for whole in (1, 7, 36):
            yield f"{whole} {max(below - 1, 0)}/{below}", "in"
            yield f'{whole}-{max(below - 1, 0)}/{below}"', "mm"
    for sign in VULGAR:
        yield from ((sign, "in"), (f"1{sign}", "ft"), (f"12 {sign}″", "mm"))


def number(random: Random) -> str:
    """A number well written."""
    below = random.choice((*RULE, 3, 5, 6, 7, 9, 10, 12, 100, 127))
    above = random.randint(0, below)
    size = 10 ** random.randint(0, 6)
    match random.randrange(8):
        case 0:
            return str(random.randrange(size))
        case 1:
            return f"{random.randrange(size)}.{random.randrange(size)}"
        case 2:
            return f".{random.randrange(size)}"
        case 3:
            return f"{above}/{below}"
        case 4:
            return f"{random.randrange(size)} {above}/{below}"
        case 5:
            return f"{random.randrange(100)}-{above} / {below}"
        case 6:
            return f"{random.randrange(100)}{random.choice(VULGAR)}"
        case _:
            return f"{random.randrange(40)}' {random.randrange(12)} {above}/{below}"


def typed(random: Random, quantity: str) -> str:
    """A number with a unit, mostly of the quantity."""
    dimension = QUANTITIES[quantity]
    fit = [name for name, unit in UNITS.items() if unit.dimension == dimension]
    unit = random.choice(fit if random.random() < 0.95 else list(UNITS))
    sign = "-" if quantity == "temperature" and random.random() < 0.4 else ""
    if random.random() < 0.2:
        return sign + number(random)
    return sign + number(random) + random.choice(("", " ", "  ")) + random.choice(written(unit))


def spoilt(random: Random, text: str) -> str:
    """The text with one to three signs put in, left out, changed or doubled."""
    for _ in range(random.randint(1, 3)):
        at = random.randint(0, len(text))
        sign = random.choice(SIGNS)
        text = random.choice(
            (
                text[:at] + sign + text[at:],
                text[:at] + text[at + 1 :],
                text[:at] + sign + text[at + 1 :],
                text[:at] + text[max(at - 2, 0) :],
            )
        )
    return text

"""The bundled fonts are those that their checksums name, and cover the letters of names."""

import hashlib
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

FONTS = Path(__file__).resolve().parents[3] / "static" / "fonts"
FAMILIES = ["source-serif", "source-sans"]
# Unicode 15 blocks: Latin-1 Supplement, Greek, Cyrillic, Latin Extended Additional (Vietnamese).
LETTERS = [
    *(chr(code) for code in range(0x00C0, 0x0100)),
    *(chr(code) for code in range(0x0391, 0x03CF) if code != 0x03A2),
    *(chr(code) for code in range(0x0410, 0x0460)),
    *(chr(code) for code in range(0x1EA0, 0x1EFA)),
    # The official languages of the European Union and of Iceland and Turkey; common practice.
    *"ĀāĂăĄąĆćĊċČčĎďĐđĒēĖėĘęĚěĞğĠġĢģĦħĪīĮįİıĶķĹĺĻļĽľŁłŃńŅņŇňŌōŐőŒœŔŕŘřŚśŞşŠšȚțŢţŤťŪūŮůŰűŲųŹźŻżŽž",
]


@pytest.mark.parametrize("family", FAMILIES)
def test_fonts_are_the_ones_that_were_checked(family: str) -> None:
    folder = FONTS / family
    sums = dict(reversed(line.split()) for line in (folder / "SHA256SUMS").read_text().splitlines())
    assert set(sums) == {path.name for path in folder.iterdir()} - {"SHA256SUMS", "README.md"}
    for name, expected in sums.items():
        assert hashlib.sha256((folder / name).read_bytes()).hexdigest() == expected
    assert "SIL OPEN FONT LICENSE Version 1.1" in (folder / "LICENSE.md").read_text()


@pytest.mark.parametrize("path", sorted(FONTS.glob("source-*/*.ttf")), ids=lambda path: path.name)
def test_fonts_hold_the_letters_of_names(path: Path) -> None:
    with TTFont(path) as font:
        held = font.getBestCmap()
    assert [letter for letter in LETTERS if ord(letter) not in held] == []

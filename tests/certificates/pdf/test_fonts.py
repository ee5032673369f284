"""The bundled fonts are those that their checksums name, and cover the letters of names."""

import hashlib
import subprocess
from pathlib import Path

import pytest

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
    sums: dict[str, str] = {}
    for line in (folder / "SHA256SUMS").read_text().splitlines():
        digest, name = line.split()
        sums[name] = digest
    assert set(sums) == {path.name for path in folder.iterdir()} - {"SHA256SUMS", "README.md"}
    for name, expected in sums.items():
        assert hashlib.sha256((folder / name).read_bytes()).hexdigest() == expected
    assert "SIL OPEN FONT LICENSE Version 1.1" in (folder / "LICENSE.md").read_text()


@pytest.mark.parametrize("path", sorted(FONTS.glob("source-*/*.ttf")), ids=lambda path: path.name)
def test_fonts_hold_the_letters_of_names(path: Path) -> None:
    said = subprocess.run(
        ["fc-query", "--format=%{charset}", path], check=True, capture_output=True, text=True
    ).stdout
    held: set[int] = set()
    for part in said.split():
        first, _, last = part.partition("-")
        held.update(range(int(first, 16), int(last or first, 16) + 1))
    assert len(held) > 800
    assert [letter for letter in LETTERS if ord(letter) not in held] == []

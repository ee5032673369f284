"""Make the catalogs that Django reads (``.mo``) of those that people write (``.po``)."""

from pathlib import Path

from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

LOCALE = Path(__file__).resolve().parents[1] / "training" / "locale"


def compile_messages(folder: Path = LOCALE) -> list[Path]:
    """Compile every catalog below ``folder`` that is newer than what was made of it.

    Entries marked fuzzy are left out, as gettext's own programs do. Returns what was made.
    """
    made = []
    for source in sorted(folder.glob("*/LC_MESSAGES/*.po")):
        target = source.with_suffix(".mo")
        if target.exists() and target.stat().st_mtime >= source.stat().st_mtime:
            continue
        with source.open("rb") as file:
            catalog = read_po(file, locale=source.parents[1].name)
        with target.open("wb") as file:
            write_mo(file, catalog)
        made.append(target)
    return made

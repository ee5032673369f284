"""Writing a program file in its one canonical layout."""

from io import StringIO
from typing import Any

from ruamel.yaml import YAML

from assessments.programfile.schema import PROGRAM
from assessments.programfile.shapes import WIDTH


def write_program(document: dict[str, Any]) -> str:
    """Return the file of a program document; reading it gives the same document again.

    Fields stand in the order of the format, optional ones only where they hold something,
    lines end with a line feed, long texts are folded at about 96 characters.
    """
    return dump(PROGRAM.write(document, None))


def dump(written: object) -> str:
    """Return the text of a program whose values are written already, in the layout of a file."""
    yaml = YAML(pure=True)
    yaml.width = WIDTH
    yaml.allow_unicode = True
    yaml.indent(mapping=2, sequence=4, offset=2)
    out = StringIO()
    yaml.dump(written, out)
    return out.getvalue()

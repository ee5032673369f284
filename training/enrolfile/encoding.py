"""From the bytes of a file to its text, saying so when that took a guess."""

import codecs
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

SAVE_AS = N_("In the spreadsheet, choose “Save as”, then “CSV UTF-8”.")


class UnreadableError(ValueError):
    """The file cannot be read as text at all; its message says what to do."""


@dataclass(frozen=True)
class Decoded:
    """The text, and a sentence for the reader when its letters were guessed."""

    text: str
    warning: str | None = None


def decode(content: bytes) -> Decoded:
    """Return the text of ``content``: UTF-8 or UTF-16 as they are, Windows-1252 with a warning.

    Raises UnreadableError for workbooks, other binary files and unknown encodings.
    """
    if content.startswith(b"PK\x03\x04") or content.startswith(b"\xd0\xcf\x11\xe0"):
        raise UnreadableError(
            _("This is a workbook, not a CSV file. {save_as}").format(save_as=_(SAVE_AS))
        )
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        try:
            return Decoded(content.decode("utf-16"))
        except UnicodeDecodeError:
            raise UnreadableError(
                _("This file is broken off or damaged. {save_as}").format(save_as=_(SAVE_AS))
            ) from None
    if b"\x00" in content:
        raise UnreadableError(_("This is not a text file. {save_as}").format(save_as=_(SAVE_AS)))
    try:
        return Decoded(content.decode("utf-8-sig"))
    except UnicodeDecodeError:
        pass
    try:
        text = content.decode("cp1252")
    except UnicodeDecodeError:
        raise UnreadableError(
            _("The letters of this file are neither UTF-8 nor Windows-1252. {save_as}").format(
                save_as=_(SAVE_AS)
            )
        ) from None
    return Decoded(
        text,
        _(
            "This file is not UTF-8, so it was read as Windows-1252. Look at the accented letters "
            "below, mend the wrong ones, then send the text. Nothing is enrolled yet."
        ),
    )

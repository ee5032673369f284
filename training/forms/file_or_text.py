"""A form that takes a text file, or the same text typed or pasted."""

from typing import TYPE_CHECKING, Any, ClassVar

from django import forms
from django.utils.translation import gettext as _

from training.enrolfile import UnreadableError, decode

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise

MAXIMUM_BYTES = 1_000_000


class FileOrTextForm(forms.Form):
    """Has the fields ``file`` and ``text``; whichever was sent ends up in ``text``.

    ``nothing`` is said when neither was sent; ``guessed`` is set when the file's letters had to
    be guessed.
    """

    nothing: "ClassVar[StrOrPromise]"
    guessed: str | None = None

    def clean(self) -> dict[str, Any]:
        """Put the file's text into ``text``; note in ``guessed`` when letters were guessed."""
        values = super().clean() or {}
        upload = values.get("file")
        if not upload:
            if "text" in values and not values["text"].strip():
                self.add_error("text", self.nothing)
            return values
        if upload.size > MAXIMUM_BYTES:
            self.add_error(
                "file",
                _("This file has {size:,} bytes: 1 MB at most. Split it.").format(size=upload.size),
            )
            return values
        if values.get("text", "").strip():
            self.add_error("file", _("Send a file or the text below, not both: nothing was read."))
            return values
        try:
            decoded = decode(upload.read())
        except UnreadableError as error:
            self.add_error("file", str(error))
            return values
        values["text"] = decoded.text
        self.guessed = decoded.warning
        return values

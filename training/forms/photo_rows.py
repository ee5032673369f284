"""The rows of a form that take photographs, each with its caption; none is asked for twice."""

import uuid
from collections.abc import Iterator
from typing import Any

from django import forms
from django.http import HttpRequest
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l

from training.actions.sitelog import MOST, NewPhoto
from training.errors import Refused
from training.models import Person
from training.photographs import Photograph, drop_held, held, hold, read_photograph

FIRST = 3  # shown at once; the others are opened


class PhotoRow(forms.Form):
    """One photograph; ``held`` is the one that was sent with this row before, if any."""

    file = forms.FileField(
        label=_l("Photograph"),
        required=False,
        widget=forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp"}),
        error_messages={"empty": _l("This file is empty: choose the photograph once more.")},
    )
    caption = forms.CharField(
        label=_l("What it shows"),
        required=False,
        max_length=300,
        error_messages={"max_length": _l("A caption has 300 characters at most.")},
    )
    people = forms.BooleanField(label=_l("Somebody can be recognised"), required=False)
    drop = forms.BooleanField(label=_l("Leave the kept photograph out"), required=False)

    def __init__(
        self, *args: Any, number: int, held: Photograph | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.number = number
        self.photograph: Photograph | None = None
        self.held = held
        self.say_held(held)

    def say_held(self, photograph: Photograph | None) -> None:
        """Say at the field whether a photograph is held, so that none need be sent."""
        self.held = photograph
        file, drop = self.fields["file"], self.fields["drop"]
        file.help_text = self["file"].help_text = (
            _("Kept: {width} × {height} pixels. Choose a file only to put it in its place.").format(
                width=photograph.width, height=photograph.height
            )
            if photograph
            else ""
        )
        drop.widget = forms.CheckboxInput() if photograph else forms.HiddenInput()

    @property
    def used(self) -> bool:
        """Whether anything is in the row."""
        return bool(self.held or self.errors or self["caption"].value())

    def clean(self) -> dict[str, Any]:
        """Read the file; ask for a caption with it, and for a file with a caption."""
        values = super().clean() or {}
        if values.get("file"):
            try:
                self.photograph = read_photograph(values["file"], field="file")
            except Refused as refused:
                self.add_error("file", refused.message)
        elif "file" in values and self.held and not values.get("drop"):
            self.photograph = self.held
        caption = " ".join(values.get("caption", "").split())
        if self.photograph and "caption" in values and not caption:
            self.add_error("caption", _("Say what this photograph shows."))
        if not self.photograph and not self.errors and not values.get("drop"):
            self._ask_for_file(caption, values)
        return values

    def _ask_for_file(self, caption: str, values: dict[str, Any]) -> None:
        if caption or values.get("people"):
            self.add_error(
                "file", _("Choose the photograph that this belongs to, or clear what stands here.")
            )


class PhotoRows:
    """Up to twelve rows of one form, whose ``key`` was made when it was shown."""

    def __init__(self, request: HttpRequest, person: Person, key: uuid.UUID) -> None:
        self.person, self.key = person, key
        sent = request.method == "POST"
        there = held(person, key) if sent else {}
        self.rows = [
            PhotoRow(
                request.POST if sent else None,
                request.FILES if sent else None,
                number=number,
                held=there.get(number),
                prefix=f"photo{number}",
            )
            for number in range(1, MOST + 1)
        ]

    def __iter__(self) -> Iterator[PhotoRow]:
        return iter(self.rows)

    @property
    def first(self) -> list[PhotoRow]:
        """The rows that are shown at once."""
        return self.rows[:FIRST]

    @property
    def more(self) -> list[PhotoRow]:
        """The rows behind them."""
        return self.rows[FIRST:]

    @property
    def more_used(self) -> bool:
        """Whether those behind are to be shown open."""
        return any(row.used for row in self.more)

    @property
    def faulty(self) -> list[PhotoRow]:
        """The rows with an error."""
        return [row for row in self.rows if row.errors]

    def is_valid(self) -> bool:
        """Say whether every row can be kept as it is; all are read, so that all faults show."""
        return not [row for row in self.rows if not row.is_valid()]

    def photographs(self) -> list[NewPhoto]:
        """Return what is to be kept; only of valid rows."""
        return [
            NewPhoto(row.photograph, row.cleaned_data["caption"], row.cleaned_data["people"])
            for row in self.rows
            if row.photograph is not None
        ]

    def keep_aside(self) -> None:
        """Hold every photograph that could be read, until the form is mended."""
        for row in self.rows:
            if row.photograph is not None and row.photograph is not row.held:
                hold(self.person, self.key, row.number, row.photograph)
            elif row.photograph is None and row.held is not None and "drop" in row.changed_data:
                drop_held(self.person, self.key, row.number)
                row.held = None
            row.say_held(row.photograph or row.held)

    def forget(self) -> None:
        """Drop what was held: the form went through."""
        drop_held(self.person, self.key)

"""A whole score sheet on one page: what was written on paper, to be keyed in."""

import uuid
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l
from django.utils.translation import gettext_noop as N_

from assessments.actions.pages import Entry
from assessments.forms.score import FORMS, SubjectForm
from assessments.queries.sheet import Line, ScoreSheet
from assessments.subjects import CRITERION
from training.errors import Refused
from training.scans import MEGABYTE, Scan, read_scan

MINUTE = "%Y-%m-%dT%H:%M"
IDS = ("observation_id", "replaces")
LARGEST = 10 * MEGABYTE
HELD = N_("The file that you sent is kept: choose one only to put it in its place.")


class PaperForm(forms.Form):
    """When it was scored, and the photograph or scan of the sheet.

    ``held``: whether a scan that was sent with this form before is kept still.
    """

    sheet = forms.UUIDField(widget=forms.HiddenInput)
    scored_at = forms.DateTimeField(
        label=_l("When it was scored"),
        help_text=_l(
            "Day and time that the clock at the site showed when the last box was filled."
        ),
        input_formats=[MINUTE, f"{MINUTE}:%S"],
        widget=forms.DateTimeInput(format=MINUTE, attrs={"type": "datetime-local"}),
        error_messages={
            "required": _l("Choose the day and the time that stand on the sheet."),
            "invalid": _l("Choose a day and a time that this site's clock shows."),
        },
    )
    file = forms.FileField(
        label=_l("Photograph or scan of the sheet"),
        help_text=_l(
            "All pages of it: one JPEG or PNG image, or a PDF; 10 MB at most. "
            "Of an image the picture is kept, and not where the camera says that it was taken; a "
            "PDF "
            "is kept as it is."
        ),
        widget=forms.FileInput(attrs={"accept": ".jpg,.jpeg,.png,.pdf"}),
        error_messages={
            "required": _l(
                "Send a photograph or scan of the sheet: it is kept as what was written."
            ),
            "empty": _l("This file is empty: send the photograph or scan once more."),
        },
    )

    def __init__(self, *args: Any, held: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("sheet", uuid.uuid4())
        if held:
            self.say_held()

    def say_held(self) -> None:
        """Say at the field that a scan is held, so that none need be sent."""
        self.fields["file"].required = False
        # Once the form was checked, the page shows the field as it was before.
        self.fields["file"].help_text = self["file"].help_text = _(HELD)

    def clean_file(self) -> Scan | None:
        """Return the scan; None where one that was sent before is to stay."""
        file = self.cleaned_data["file"]
        try:
            return read_scan(file, most=LARGEST) if file else None
        except Refused as refused:
            raise forms.ValidationError(refused.message) from None


@dataclass(frozen=True)
class PaperPart:
    """One criterion or hold point: its number on the sheet, what is needed, and its form."""

    number: int
    stage: str
    line: Line
    needed: str
    form: SubjectForm

    @property
    def name(self) -> str:
        """The prefix of its fields, and the field of what is refused about it."""
        return _name(self.line)

    @property
    def left_out(self) -> bool:
        """Whether nothing was entered: a form with nothing in it is not bound."""
        return not self.form.is_bound


class PaperForms:
    """A form for each subject of the sheet, in its order; what is left empty is left out."""

    def __init__(
        self, sheet: ScoreSheet, needed: Mapping[str, str], data: QueryDict | None = None
    ) -> None:
        self.bound = data is not None
        self.parts = [
            PaperPart(
                number,
                sheet.standard.stages[line.subject.stage].title,
                line,
                needed.get(line.subject.key, "") if line.subject.kind == CRITERION else "",
                _form(line, data),
            )
            for number, line in enumerate(sheet.lines, 1)
            if not line.stands
        ]

    def __iter__(self) -> Iterator[PaperPart]:
        return iter(self.parts)

    def is_valid(self) -> bool:
        """Say whether everything that was entered can be read."""
        return self.bound and not self.faulty

    def entries(self) -> list[Entry]:
        """Return what was entered; only of valid forms."""
        return [_entry(part) for part in self.parts if not part.left_out]

    def show(self, refused: Refused) -> bool:
        """Put a refusal at its subject; False when it belongs to none."""
        for part in self.parts:
            if part.name == refused.field:
                part.form.add_error(None, refused.message)
                return True
        return False

    @property
    def faulty(self) -> list[PaperPart]:
        """The subjects whose entry has an error."""
        return [part for part in self.parts if not part.left_out and part.form.errors]


def _name(line: Line) -> str:
    return f"{line.subject.kind}-{line.subject.key}"


def _form(line: Line, data: QueryDict | None) -> SubjectForm:
    kind = FORMS[line.subject.form_kind]
    subject: Mapping[str, Any] = line.subject.document or {}
    initial = {"replaces": line.observation.pk} if line.observation is not None else {}
    form = kind(data, subject=subject, initial=initial, prefix=_name(line))
    if data is not None and not any(form[name].data for name in form.fields if name not in IDS):
        # Left empty: shown again without asking for what is not on the paper.
        initial = {name: form[name].data for name in IDS}
        form = kind(subject=subject, initial=initial, prefix=_name(line))
    form.order_fields([*form.entries, "not_applicable", "reason", "note"])
    # A page of many notes: one line each, which grows where the browser lets it.
    for name in ("reason", "note"):
        if name in form.fields:
            form.fields[name].widget.attrs["rows"] = 1
    return form


def _entry(part: PaperPart) -> Entry:
    cleaned = part.form.cleaned_data
    return Entry(
        id=cleaned["observation_id"],
        kind=part.line.subject.kind,
        key=part.line.subject.key,
        value=part.form.value(),
        note=cleaned.get("note", ""),
        replaces=cleaned["replaces"],
    )

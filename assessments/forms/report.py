"""Choosing what a training report shows: parts, order, headings, texts; photographs, captions."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l
from django.utils.translation import gettext_noop as N_

from assessments.trainingreport.choices import PartChoice, Picture
from assessments.trainingreport.parts import BY_KEY, PARTS
from assessments.trainingreport.photographs import Shot, Shown

LONGEST_HEADING = 120
LONGEST_TEXT = 6000
LONGEST_CAPTION = 300
MOST_PLACES = 9999
NO_PLACE = N_("Write a whole number from 1 on.")


class PartsForm(forms.Form):
    """The parts of a report; ``shown``, ``place``, ``heading`` and ``text`` for each."""

    version = forms.IntegerField(min_value=0, widget=forms.HiddenInput)

    def __init__(self, *args: Any, chosen: Sequence[PartChoice], version: int, **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.initial["version"] = version
        self.chosen = chosen
        for place, choice in enumerate(chosen, start=1):
            part = BY_KEY[choice.key]
            self.fields |= {
                f"shown-{part.key}": forms.BooleanField(
                    label=_("Show this part"), required=False, initial=choice.shown
                ),
                f"place-{part.key}": _place_field(place, len(PARTS)),
                f"heading-{part.key}": forms.CharField(
                    label=_("Heading"),
                    required=False,
                    max_length=LONGEST_HEADING,
                    initial=choice.heading,
                    help_text=_("Left empty: {heading}.").format(heading=_(part.heading)),
                ),
                f"text-{part.key}": forms.CharField(
                    label=_("Your text"),
                    required=False,
                    max_length=LONGEST_TEXT,
                    initial=choice.text,
                    widget=forms.Textarea(attrs={"rows": 4}),
                    help_text=_("It stands in front of the figures."),
                ),
            }

    def rows(self) -> list[dict[str, Any]]:
        """Return the fields of each part together, to lay them out."""
        names = ("shown", "place", "heading", "text")
        return [
            {
                "part": BY_KEY[choice.key],
                "choice": choice,
                **{name: self[f"{name}-{choice.key}"] for name in names},
            }
            for choice in self.chosen
        ]

    def parts(self) -> list[PartChoice]:
        """Return what was chosen, in the order of the places; equal places as they stood."""
        data = self.cleaned_data
        order = sorted(self.chosen, key=lambda choice: data[f"place-{choice.key}"])
        return [
            PartChoice(
                choice.key,
                shown=data[f"shown-{choice.key}"],
                heading=data[f"heading-{choice.key}"],
                text=data[f"text-{choice.key}"],
            )
            for choice in order
        ]


class StageForm(forms.Form):
    """The text of a stage, and one page of its photographs: shown, place, caption.

    ``shots`` are those of the page, ``shown`` what is shown of the stage now, on any page.
    """

    version = forms.IntegerField(min_value=0, widget=forms.HiddenInput)
    text = forms.CharField(
        label=_l("What is done in this stage"),
        required=False,
        max_length=LONGEST_TEXT,
        widget=forms.Textarea(attrs={"rows": 5}),
        help_text=_l("It stands in front of the photographs."),
    )

    def __init__(
        self, *args: Any, shots: Sequence[Shot], shown: Sequence[Shown], version: int, **kwargs: Any
    ):
        super().__init__(*args, **kwargs)
        self.initial["version"] = version
        self.shots, self.shown = shots, shown
        places = {each.shot.id: place for place, each in enumerate(shown, start=1)}
        captions = {each.shot.id: each.caption for each in shown}
        for shot in shots:
            caption = captions.get(shot.id, shot.caption)
            self.fields |= {
                f"shown-{shot.id}": forms.BooleanField(
                    label=_("Show it"), required=False, initial=shot.id in places
                ),
                f"place-{shot.id}": _place_field(places.get(shot.id), MOST_PLACES, required=False),
                f"caption-{shot.id}": forms.CharField(
                    label=_("Caption"),
                    required=False,
                    max_length=LONGEST_CAPTION,
                    initial=caption,
                    widget=forms.Textarea(attrs={"rows": 2}),
                    help_text=_("Left empty: {caption}").format(caption=shot.caption),
                ),
            }

    def rows(self) -> list[dict[str, Any]]:
        """Return each photograph with its fields."""
        names = ("shown", "place", "caption")
        return [
            {"shot": shot, **{name: self[f"{name}-{shot.id}"] for name in names}}
            for shot in self.shots
        ]

    def pictures(self) -> list[Picture]:
        """Return what is shown of the stage then: this page as filled in, other pages as it was.

        By place; what has none comes last. Of equal places this page's come first.
        """
        here = {shot.id for shot in self.shots}
        placed: list[tuple[int, Picture]] = []
        for shot in self.shots:
            if self.cleaned_data[f"shown-{shot.id}"]:
                place = self.cleaned_data[f"place-{shot.id}"] or MOST_PLACES + 1
                caption = self.cleaned_data[f"caption-{shot.id}"]
                placed.append((place, Picture(shot.id, _own(caption, shot))))
        placed += [
            (place, Picture(each.shot.id, _own(each.caption, each.shot)))
            for place, each in enumerate(self.shown, start=1)
            if each.shot.id not in here
        ]
        return [picture for _unused, picture in sorted(placed, key=lambda pair: pair[0])]


def _own(caption: str, shot: Shot) -> str:
    """Return the caption where it is another than the photograph's own."""
    return "" if caption == shot.caption else caption


def _place_field(place: int | None, most: int, *, required: bool = True) -> forms.IntegerField:
    return forms.IntegerField(
        label=_("Place"),
        required=required,
        min_value=1,
        max_value=most,
        initial=place,
        error_messages={
            "required": _(NO_PLACE),
            "invalid": _(NO_PLACE),
            "min_value": _(NO_PLACE),
            "max_value": _("Write a number of at most {most}.").format(most=most),
        },
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )

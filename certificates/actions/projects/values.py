"""What a post says, as values to be checked, written down and compared."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from certificates.models import Post
from training.errors import Refused
from training.models import Program

LABELS = {
    "code": N_("Code"),
    "title": N_("Title"),
    "work": N_("Work"),
    "program": N_("Program"),
    "conditions": N_("Conditions"),
    "places": N_("Places"),
    "starts_on": N_("First day"),
    "ends_on": N_("Last day"),
    "masons_per_lead": N_("Masons for each lead"),
    "lead_program": N_("Program of the lead"),
}
NOTHING = N_("nothing")
CHANGED_POST = N_(
    "Somebody else changed this post since you opened it. See below what is different now; what "
    "you wrote is still here. Save again to put yours in its place."
)
CHANGED_PROJECT = N_(
    "Somebody else changed this project since you opened it. See below what is different now; "
    "what you wrote is still here. Save again to put yours in its place."
)


@dataclass(frozen=True)
class PostValues:
    """What is asked of a post; see models.Post for each field."""

    code: str
    title: str
    work: str
    program: Program
    conditions: Mapping[str, Any]
    places: int
    starts_on: date
    ends_on: date
    masons_per_lead: int | None = None
    lead_program: Program | None = None

    def document(self) -> dict[str, Any]:
        """The same as JSON values: for the log, and to tell two states of a post apart."""
        return {
            "code": self.code,
            "title": self.title,
            "work": self.work,
            "program": str(self.program.pk),
            "conditions": dict(self.conditions),
            "places": self.places,
            "starts_on": self.starts_on.isoformat(),
            "ends_on": self.ends_on.isoformat(),
            "masons_per_lead": self.masons_per_lead,
            "lead_program": str(self.lead_program.pk) if self.lead_program else None,
        }

    def write_to(self, post: Post) -> Post:
        """Put the values into ``post`` without saving it, and return it."""
        for name in LABELS:
            setattr(post, name, getattr(self, name))
        post.conditions = dict(self.conditions)
        return post


def values_of(post: Post) -> PostValues:
    """Return what ``post`` says now."""
    return PostValues(**{name: getattr(post, name) for name in LABELS})


@dataclass(frozen=True)
class Difference:
    """One field that differs between two states of a post, each side in words."""

    field: str
    label: str
    before: str
    after: str


class ChangedMeanwhile(Refused):
    """Somebody else changed it: ``differences`` lead from what was seen to ``now``.

    ``what`` is CHANGED_POST or CHANGED_PROJECT.
    """

    def __init__(self, what: str, differences: Sequence[Difference], now: dict[str, Any]) -> None:
        super().__init__(_(what))
        self.differences = tuple(differences)
        self.now = now


def differences(
    before: Mapping[str, Any],
    after: Mapping[str, Any],
    *,
    labels: Mapping[str, str] = LABELS,
    names: Mapping[str, str] | None = None,
) -> list[Difference]:
    """Return the fields in which two documents differ; ``names`` says an id in words."""
    return [
        Difference(name, _(label), _said(before.get(name), names), _said(after.get(name), names))
        for name, label in labels.items()
        if before.get(name) != after.get(name)
    ]


def _said(value: Any, names: Mapping[str, str] | None) -> str:
    if value in (None, "", {}):
        return _(NOTHING)
    if isinstance(value, Mapping):
        return "; ".join(f"{key}: {condition_text(each)}" for key, each in value.items())
    return (names or {}).get(str(value), str(value))


def condition_text(value: Any) -> str:
    """A condition of a need document in words, without its rules."""
    if isinstance(value, Mapping):
        low, high = value.get("from"), value.get("to")
        if low and high:
            told = _("from {low} to {high} {unit}")
        elif low:
            told = _("from {low} {unit}")
        else:
            told = _("to {high} {unit}") if high else "{unit}"
        return told.format(low=low, high=high, unit=value.get("unit", "")).strip()
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)

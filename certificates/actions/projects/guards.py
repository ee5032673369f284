"""What may be wrong with a project's days and with a post: every fault at its field."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any
from zoneinfo import available_timezones

from django.utils.translation import gettext as _

from assessments.engine.errors import EngineError
from assessments.engine.qualification import Rules, load_need
from certificates.actions.projects.texts import lines, one_line, post_code
from certificates.actions.projects.values import PostValues
from certificates.models import Project
from certificates.wording import count
from training.errors import Refused
from training.said import said

LONGEST_PROJECT = 3_660  # days; a longer one is a mistyped year
EARLIEST, LATEST = date(2000, 1, 1), date(2199, 12, 31)
MOST_PLACES = 500
MOST_POSTS = 500
LONGEST_WORK = 4_000
CLEAN: Mapping[str, Callable[[str], str]] = {
    "code": post_code,
    "title": lambda typed: one_line(typed, 200, _("Write what the post is called.")),
    "work": lambda typed: lines(typed, LONGEST_WORK),
}


@dataclass(frozen=True)
class FieldFault:
    """What is wrong in which field; one of a condition is ``conditions.`` and its path."""

    field: str
    message: str


def require_days(starts_on: date, ends_on: date) -> None:
    """Raise Refused at the day at fault unless these can be the days of a project."""
    for field, day in (("starts_on", starts_on), ("ends_on", ends_on)):
        if not EARLIEST <= day <= LATEST:
            raise Refused(
                _("Write a day from {first} to {last}: check the year.").format(
                    first=EARLIEST.year, last=LATEST.year
                ),
                field=field,
            )
    if ends_on < starts_on:
        raise Refused(_("The last day is before the first: change one of them."), field="ends_on")
    if (ends_on - starts_on).days >= LONGEST_PROJECT:
        raise Refused(
            _("This project would last more than {number} days: check the years.").format(
                number=count(LONGEST_PROJECT)
            ),
            field="ends_on",
        )


def require_zone(name: str) -> None:
    """Raise Refused for a time zone that does not exist."""
    if name not in available_timezones():
        raise Refused(_("Choose a time zone such as America/New_York."), field="time_zone")


def post_faults(
    values: PostValues,
    project: Project,
    rules: Mapping[Any, Rules | None],
    placed: tuple[date, date] | None = None,
) -> list[FieldFault]:
    """Return everything that is wrong with ``values`` as a post of ``project``.

    ``rules`` are those of each program with a sealed standard, by the program's id (None for a
    standard without rules); ``placed`` are the first and last day on which the day list has
    somebody at this post.
    """
    found = [
        *text_faults({name: getattr(values, name) for name in CLEAN}),
        *_days(values, project, placed),
        *_numbers(values),
    ]
    for field, program in (("program", values.program), ("lead_program", values.lead_program)):
        if program is not None and program.pk not in rules:
            found.append(
                FieldFault(
                    field,
                    _(
                        "No passing standard of {program} is sealed, so nobody can hold a record "
                        "of it: choose another program or version."
                    ).format(program=program),
                )
            )
    return found + condition_faults(values.conditions, rules.get(values.program.pk))


def condition_faults(conditions: Mapping[str, Any], rules: Rules | None) -> list[FieldFault]:
    """Return what the engine says about each condition, at its key and part."""
    if rules is None:
        return [
            FieldFault(
                f"conditions.{key}",
                _(
                    "The sealed standard of this program has no rules about conditions: leave this "
                    "empty, or choose another program."
                ),
            )
            for key in conditions
        ]
    found = []
    for key, value in conditions.items():
        try:
            load_need(rules, {key: value})
        except EngineError as error:
            found.append(FieldFault(f"conditions.{error.path}", said(error.message)))
    return found


def text_faults(texts: Mapping[str, str]) -> list[FieldFault]:
    """Return what is wrong with the code, the title and the description, of those given."""
    found = []
    for field, text in texts.items():
        try:
            CLEAN[field](text)
        except ValueError as error:
            found.append(FieldFault(field, str(error)))
    return found


def _days(
    values: PostValues, project: Project, placed: tuple[date, date] | None
) -> list[FieldFault]:
    first, last = project.starts_on, project.ends_on
    found = [
        FieldFault(
            field,
            _(
                "The project runs from {first} to {last}: write a day "
                "within, or change the project's days first."
            ).format(first=first.isoformat(), last=last.isoformat()),
        )
        for field, day in (("starts_on", values.starts_on), ("ends_on", values.ends_on))
        if not first <= day <= last
    ]
    if values.ends_on < values.starts_on:
        found.append(
            FieldFault("ends_on", _("The last day is before the first: change one of them."))
        )
    elif placed and not (values.starts_on <= placed[0] and placed[1] <= values.ends_on):
        late = values.starts_on > placed[0]
        day = placed[0] if late else placed[1]
        found.append(
            FieldFault(
                "starts_on" if late else "ends_on",
                _(
                    "Somebody is on the day list of {day} at this post: keep that day "
                    "within, or take them off that day list first."
                ).format(day=day.isoformat()),
            )
        )
    return found


def _numbers(values: PostValues) -> list[FieldFault]:
    found = []
    if not 1 <= values.places <= MOST_PLACES:
        found.append(
            FieldFault(
                "places",
                _("Write a whole number from 1 to {most}.").format(most=MOST_PLACES),
            )
        )
    number = values.masons_per_lead
    if number is not None and not 1 <= number <= MOST_PLACES:
        found.append(
            FieldFault(
                "masons_per_lead",
                _(
                    "Write a whole number from 1 to {most}, or leave it empty: then the post "
                    "asks for no lead."
                ).format(most=MOST_PLACES),
            )
        )
    if number is not None and values.lead_program is None:
        found.append(
            FieldFault(
                "lead_program",
                _("Choose the program that a lead holds, or leave the number of masons empty."),
            )
        )
    if number is None and values.lead_program is not None:
        found.append(
            FieldFault(
                "masons_per_lead",
                _("Write for how many masons there is one lead, or choose no program of the lead."),
            )
        )
    return found


def cleaned(values: PostValues, rules: Rules | None) -> PostValues:
    """Return the values as they are kept; call it on faultless ones.

    Conditions come in the order of the rules, so that the same needs are the same document.
    """
    texts: dict[str, Any] = {field: clean(getattr(values, field)) for field, clean in CLEAN.items()}
    asked = {
        each.key: _in_order(values.conditions[each.key], each.values)
        for each in (rules.variables if rules else ())
        if each.key in values.conditions
    }
    return replace(values, **texts, conditions=asked)


def _in_order(asked: Any, known: tuple[str, ...]) -> Any:
    if isinstance(asked, Mapping):
        parts = ("from", "to", "unit")
        return {part: asked[part] for part in parts if asked.get(part) is not None}
    chosen = asked if isinstance(asked, list) else [asked]
    return [each for each in known if each in chosen]

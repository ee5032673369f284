"""Planning sessions: one, copies on other days, and a proposal for a whole run."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from django import forms
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l
from django.utils.translation import gettext_noop as N_

from training.actions.sessions import LONGEST_TITLE, Plan
from training.errors import Refused
from training.forms.runs import NOTHING_CHOSEN, day_field
from training.models import CourseRun, Module, Person, Place, Session
from training.site_time import instant, run_days, zone_of

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise

CROSSED = N_(
    "The end is not after the start: change one of them, or say below that it ends on the next day."
)


@dataclass(frozen=True)
class Choices:
    """What a session of ``run`` can be made of, read once for all rows of a form."""

    run: CourseRun
    modules: Sequence[Module]
    places: Sequence[Place]
    people: Sequence[Person]


def choices_of(run: CourseRun) -> Choices:
    """Return what the sessions of ``run`` can be made of (three queries)."""
    return Choices(
        run,
        list(run.program.modules.all()),
        list(run.site.places.all()),
        list(run.instructors.order_by("full_name")),
    )


def time_field(label: "StrOrPromise", help_text: "StrOrPromise" = "") -> forms.TimeField:
    """Return a field for an hour of a day."""
    return forms.TimeField(
        label=label,
        help_text=help_text,
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        error_messages={
            "required": _l("Write an hour such as 08:00."),
            "invalid": _l("Write the hour as hours:minutes, e.g. 08:00 or 13:30."),
        },
    )


class WhereAndWho(forms.Form):
    """The place and the instructors, which single sessions and proposals ask for alike."""

    place = forms.TypedChoiceField(
        label=_l("Place"),
        required=False,
        empty_value=None,
        error_messages={"invalid_choice": NOTHING_CHOSEN},
    )
    instructors = forms.TypedMultipleChoiceField(
        label=_l("Instructors"),
        required=False,
        empty_value=[],
        widget=forms.CheckboxSelectMultiple,
        error_messages={"invalid_choice": NOTHING_CHOSEN},
    )

    def __init__(self, *args: Any, choices: Choices, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.choices = choices
        self.offer("place", choices.places, _("No place yet"))
        self.offer("instructors", choices.people)

    def offer(self, name: str, rows: Sequence[Any], none: str | None = None) -> None:
        """Let the field ``name`` offer ``rows``, after ``none`` where nothing may be chosen."""
        field = self.fields[name]
        assert isinstance(field, forms.TypedChoiceField | forms.TypedMultipleChoiceField)
        known = {str(row.pk): row for row in rows}
        field.choices = [
            *([] if none is None else [("", none)]),
            *((key, str(row)) for key, row in known.items()),
        ]
        field.coerce = known.__getitem__


class SessionForm(WhereAndWho):
    """One session; hours are those of the site's clocks."""

    module = forms.TypedChoiceField(
        label=_l("Module"),
        required=False,
        empty_value=None,
        help_text=_l("Its minutes count as taught for this module of the program."),
        error_messages={"invalid_choice": NOTHING_CHOSEN},
    )
    title = forms.CharField(
        label=_l("Title"),
        max_length=LONGEST_TITLE,
        required=False,
        help_text=_l("Left empty, the module's title is used."),
    )
    day = day_field(_l("Day"))
    starts = time_field(_l("From"))
    ends = time_field(_l("To"))
    next_day = forms.BooleanField(label=_l("It ends on the next day"), required=False)

    field_order = ("module", "title", "day", "starts", "ends", "next_day", "place", "instructors")

    def __init__(self, *args: Any, choices: Choices, **kwargs: Any) -> None:
        super().__init__(*args, choices=choices, **kwargs)
        self.offer("module", choices.modules, _("Of no module"))
        run = choices.run
        self.fields["day"].widget.attrs |= {"min": run.starts_on, "max": run.ends_on}
        self.fields["starts"].help_text = _("By the clocks of {site} ({time_zone}).").format(
            site=run.site, time_zone=run.site.time_zone
        )

    def clean(self) -> dict[str, Any]:
        """Use the module's title where none is written; compare the hours."""
        data = super().clean() or {}
        if not data.get("title") and "title" not in self.errors:
            module = data.get("module")
            if module is None:
                self.add_error("title", _("Write a title, or choose a module."))
            else:
                data["title"] = module.title
        both = {"starts", "ends"} <= data.keys()
        if both and data["ends"] <= data["starts"] and not data.get("next_day"):
            self.add_error("ends", _(CROSSED))
        return data

    def plan(self) -> Plan:
        """Return what was written as a plan; raises Refused at the field for a doubtful hour."""
        data = self.cleaned_data
        zone = zone_of(self.choices.run.site)
        last = data["day"] + timedelta(days=1 if data["next_day"] else 0)
        return Plan(
            title=data["title"],
            starts_at=instant(data["day"], data["starts"], zone, field="starts"),
            ends_at=instant(last, data["ends"], zone, field="ends"),
            module=data["module"],
            place=data["place"],
            instructors=tuple(data["instructors"]),
        )


def initial_of(session: Session) -> dict[str, Any]:
    """Return what a form for ``session``, with ``teaching``, starts from."""
    zone = zone_of(session.run.site)
    start, end = session.starts_at.astimezone(zone), session.ends_at.astimezone(zone)
    return {
        "module": session.module_id,
        "title": session.title,
        "day": start.date(),
        "starts": start.time(),
        "ends": end.time(),
        "next_day": end.date() > start.date(),
        "place": session.place_id,
        "instructors": [each.person_id for each in session.teaching.all()],
    }


class CopyForm(forms.Form):
    """The other days on which a session is held at the same hours."""

    days = forms.TypedMultipleChoiceField(
        label=_l("On these days"),
        coerce=date.fromisoformat,
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": _l("Choose at least one day."),
            "invalid_choice": NOTHING_CHOSEN,
        },
    )

    def __init__(self, *args: Any, session: Session, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.session = session
        self.zone = zone_of(session.run.site)
        own = session.starts_at.astimezone(self.zone).date()
        field = self.fields["days"]
        assert isinstance(field, forms.TypedMultipleChoiceField)
        field.choices = [
            (day.isoformat(), date_format(day, "D j M Y"))
            for day in run_days(session.run)
            if day != own
        ]

    def plans(self) -> list[Plan]:
        """Return the copies as plans; raises Refused at ``days`` for a doubtful hour."""
        session = self.session
        start = session.starts_at.astimezone(self.zone)
        end = session.ends_at.astimezone(self.zone)
        nights = end.date() - start.date()
        people = tuple(each.person for each in session.teaching.all())
        return [
            Plan(
                title=session.title,
                starts_at=instant(day, start.time(), self.zone, field="days"),
                ends_at=instant(day + nights, end.time(), self.zone, field="days"),
                module=session.module,
                place=session.place,
                instructors=people,
            )
            for day in self.cleaned_data["days"]
        ]

    def day_of(self, row: int) -> str:
        """Return the name of the day of the plan at ``row``."""
        day: date = self.cleaned_data["days"][row]
        return date_format(day, "j M Y")


def refused_copy(form: CopyForm, row: int, refused: Refused) -> Refused:
    """Return the refusal of one copy, with its day, at the field that the form has."""
    return Refused(f"{form.day_of(row)}: {refused.message}", field="days")

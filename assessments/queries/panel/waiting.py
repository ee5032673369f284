"""What waits on panels, for the first page: for judges and for leads."""

from collections.abc import Iterable

from django.urls import reverse
from django.utils.translation import gettext as _

from assessments.models import Judge, JudgingRound, Panel
from assessments.queries.panel.asked import asked_keys, current_judgements, with_cells
from assessments.queries.panel.scope import panels_visible_to, seats_of
from training.models import Person, Role
from training.queries.todo import Todo, todo_source


@todo_source
def seats_that_wait(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a judge which seat to take and what is missing in open rounds (constant queries)."""
    seats = list(
        seats_of(person)
        .filter(panel__state__in=[Panel.State.PREPARING, Panel.State.JUDGING])
        .exclude(state=Judge.State.STOOD_DOWN)
        .select_related("panel__program")
        .order_by("invited_at", "pk")
    )
    if not seats:
        return
    panels = [seat.panel for seat in seats]
    rounds = {
        each.panel_id: each
        for each in JudgingRound.objects.filter(panel__in=panels, state=JudgingRound.State.OPEN)
    }
    asked = asked_keys(panels)
    found = current_judgements(rounds.values())
    for seat in seats:
        opened = rounds.get(seat.panel_id)
        own = found.get((opened.pk, seat.pk), {}) if opened else {}
        wanted = with_cells(seat.panel, asked[seat.panel_id], own) if opened else []
        yield from _about(seat, len(wanted), sum(key not in own for key in wanted))


def _about(seat: Judge, asked: int, missing: int) -> Iterable[Todo]:
    program = seat.panel.program
    page = reverse("judging_seat", args=[seat.pk])
    name = _("{title}, {code}, version {version}").format(
        title=program.title, code=program.code, version=program.version
    )
    if seat.state == Judge.State.INVITED:
        yield Todo(
            _("You are asked to judge a passing standard"),
            _("{name}. Say what qualifies you and which interests you have.").format(name=name),
            page,
            _("Take your seat"),
        )
    elif missing:
        yield Todo(
            _("The panel waits for your estimates: {missing} of {asked} missing").format(
                missing=missing, asked=asked
            ),
            f"{name}.",
            page,
            _("Go on judging"),
        )
    elif asked:
        # Who only judges finds the way back by this.
        yield Todo(
            _("You judge {title}: nothing is missing").format(title=program.title),
            _("{name}. You can change what you entered until the round closes.").format(name=name),
            page,
            _("See what you entered"),
        )


@todo_source
def panels_that_wait(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a lead which panels have no round open (one query)."""
    if Role.Kind.LEAD not in roles:
        return
    panels = (
        panels_visible_to(person)
        .filter(state__in=[Panel.State.PREPARING, Panel.State.JUDGING])
        .exclude(rounds__state=JudgingRound.State.OPEN)
        .select_related("program")
        .order_by("made_at")
    )
    for panel in panels:
        preparing = panel.state == Panel.State.PREPARING
        yield Todo(
            (
                _("Panel {number} on {title} waits for its first round")
                if preparing
                else _("Panel {number} on {title} waits for the next round")
            ).format(number=panel.number, title=panel.program.title),
            _("Invite judges, then open the training round.")
            if preparing
            else _("No round is open: open the next one, or end the judging."),
            reverse("panel", args=[panel.pk]),
            _("See the panel"),
        )

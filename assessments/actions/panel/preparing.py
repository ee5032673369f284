"""Opening a panel, changing it while it is prepared, and abandoning it."""

from collections.abc import Iterable

from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from assessments.actions.panel.guards import STATES, led_panel, written
from assessments.models import Panel
from assessments.queries.panel.asked import BY_PIECES
from assessments.queries.panel.judged import judged_digest
from assessments.queries.panel.runs import source_runs
from training.actions.log import write_log
from training.actions.permission import require_lead
from training.actions.state import change_state
from training.errors import Refused
from training.models import CourseRun, Person, Program

AT_WORK = (Panel.State.PREPARING, Panel.State.JUDGING, Panel.State.JUDGED)


@transaction.atomic
def open_panel(
    *,
    actor: Person,
    program: Program,
    method: str,
    statistic: str,
    just_meets: str,
    sense_check: bool = False,
    sources: Iterable[CourseRun] = (),
) -> Panel:
    """Open a panel on a version of a program and return it, to be prepared.

    ``just_meets`` describes the mason who just meets the standard; ``sources`` are runs whose
    decided attempts give scores, where the method or the sense check needs them. Raises
    PermissionDenied for anyone but a lead; Refused where the program has no task yet or has a
    panel at work, and at the field for what does not fit the method.
    """
    require_lead(actor, program.provider)
    locked = Program.objects.select_for_update(of=("self",)).get(pk=program.pk)
    judged_digest(locked)  # refuses a program without a task
    at_work = locked.panels.filter(state__in=AT_WORK).first()
    if at_work is not None:
        raise Refused(
            _(
                "Panel {number} is at work on this program: finish it, or abandon it and say why."
            ).format(number=at_work.number)
        )
    last = locked.panels.aggregate(last=Max("number"))["last"] or 0
    panel = Panel(program=locked, number=last + 1, made_by=actor)
    chosen = _set(panel, method, statistic, just_meets, sense_check, sources)
    panel.save(force_insert=True)
    panel.sources.set(chosen)
    write_log(actor=actor, verb="panel.opened", subject=panel, data=_told(panel, chosen))
    return panel


@transaction.atomic
def change_panel(
    *,
    actor: Person,
    panel: Panel,
    method: str,
    statistic: str,
    just_meets: str,
    sense_check: bool = False,
    sources: Iterable[CourseRun] = (),
) -> Panel:
    """Change what is still prepared; see ``open_panel``. Refused once the first round opened."""
    locked = led_panel(actor, panel)
    if locked.state != Panel.State.PREPARING:
        raise Refused(
            _(
                "The judging has begun: method, statistic, description and runs stay as they are. "
                "Abandon this panel and open another to judge by others."
            )
        )
    chosen = _set(locked, method, statistic, just_meets, sense_check, sources)
    locked.save(update_fields=["method", "statistic", "just_meets", "sense_check"])
    locked.sources.set(chosen)
    write_log(actor=actor, verb="panel.changed", subject=locked, data=_told(locked, chosen))
    return locked


@transaction.atomic
def abandon_panel(*, actor: Person, panel: Panel, reason: str) -> Panel:
    """End a panel without a recommendation; what was entered stays on record."""
    locked = led_panel(actor, panel)
    because = written(reason, "reason", _("Write why the panel ends: it stays on record."))
    # The reason first: the database wants it before it takes the state.
    locked.ended_because = because
    locked.save(update_fields=["ended_because"])
    change_state(locked, to=Panel.State.ABANDONED, allowed=STATES)
    write_log(actor=actor, verb="panel.abandoned", subject=locked, data={"reason": because})
    return locked


def _set(
    panel: Panel,
    method: str,
    statistic: str,
    just_meets: str,
    sense_check: bool,
    sources: Iterable[CourseRun],
) -> list[CourseRun]:
    """Set the panel's own fields, checked; return the runs that it looks at."""
    if method not in Panel.Method.values:
        raise Refused(_("Choose one of the methods."), field="method")
    if statistic not in Panel.Statistic.values:
        raise Refused(_("Choose one of the ways to sum up the judges."), field="statistic")
    panel.method, panel.statistic, panel.sense_check = method, statistic, sense_check
    panel.just_meets = written(
        just_meets,
        "just_meets",
        _(
            "Describe the mason who just meets the standard: what is done reliably, what not yet. "
            "Every judge judges by this description."
        ),
    )
    return _checked(panel, list(sources))


def _checked(panel: Panel, chosen: list[CourseRun]) -> list[CourseRun]:
    wanted = {run.pk for run in chosen}
    if not wanted:
        if panel.method in BY_PIECES:
            raise Refused(
                _(
                    "This method judges finished pieces: choose at least one earlier run of this "
                    "program whose attempts are decided. Without one, use Angoff or Ebel."
                ),
                field="sources",
            )
        if panel.sense_check:
            raise Refused(
                _(
                    "The sense check compares the judges' limits with scores: choose at least one "
                    "earlier run whose attempts are decided, or do without the check."
                ),
                field="sources",
            )
        return []
    if panel.method not in BY_PIECES and not panel.sense_check:
        raise Refused(
            _(
                "{method} needs no scores: choose no runs, or ask for the sense "
                "check too. A standard made with the scores of a run never applies to that run."
            ).format(method=panel.get_method_display()),
            field="sources",
        )
    if set(source_runs(panel.program).filter(pk__in=wanted).values_list("pk", flat=True)) != wanted:
        raise Refused(
            _("Choose only runs of this program at your own provider that have decided attempts."),
            field="sources",
        )
    return chosen


def _told(panel: Panel, chosen: list[CourseRun]) -> dict[str, object]:
    return {
        "program": str(panel.program_id),
        "number": panel.number,
        "method": panel.method,
        "statistic": panel.statistic,
        "just_meets": panel.just_meets,
        "sense_check": panel.sense_check,
        "sources": sorted(str(run.pk) for run in chosen),
    }

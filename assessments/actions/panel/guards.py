"""What every action on a panel asks first."""

from django.db.models import QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.models import Judge, Panel
from assessments.queries.panel.judged import judged_digest
from training.actions.permission import require_lead
from training.errors import Refused
from training.models import Enrolment, Person

STATES: dict[str, set[str]] = {
    Panel.State.PREPARING: {Panel.State.JUDGING, Panel.State.ABANDONED},
    Panel.State.JUDGING: {Panel.State.JUDGED, Panel.State.ABANDONED},
    Panel.State.JUDGED: {Panel.State.ABANDONED},
}
BEFORE_THE_END = (Panel.State.PREPARING, Panel.State.JUDGING)
LONGEST_TEXT = 4000
LONGEST_NOTE = 1000

CHANGED = N_(
    "The task, its criteria or the outcomes were changed after the judging began: these are not "
    "what the judges were shown. Load the program as it was, or abandon this panel and open "
    "another."
)


def led_panel(actor: Person, panel: Panel) -> Panel:
    """Return the panel as it is now, locked; PermissionDenied for anyone but a lead."""
    require_lead(actor, panel.program.provider)
    return locked_panel(panel)


def locked_panel(panel: Panel) -> Panel:
    """Return the panel as it is now, locked: what it allows cannot change meanwhile."""
    return (
        Panel.objects.select_for_update(of=("self",))
        .select_related("program__provider")
        .get(pk=panel.pk)
    )


def require_before_the_end(panel: Panel) -> None:
    """Raise Refused once the judging is over."""
    if panel.state not in BEFORE_THE_END:
        raise Refused(
            _("This panel is {state}: its judges and its rounds change no more.").format(
                state=panel.get_state_display().lower()
            )
        )


def require_unchanged(panel: Panel) -> None:
    """Raise Refused where the program is not what the judges were shown any more."""
    if judged_digest(panel.program) != panel.judged_digest:
        raise Refused(CHANGED)


def written(text: str, field: str, message: str, *, longest: int = LONGEST_TEXT) -> str:
    """Return the text without white space around it; Refused where it is empty or too long."""
    kept = text.strip()
    if not kept:
        raise Refused(message, field=field)
    return not_too_long(kept, field, longest)


def not_too_long(text: str, field: str, longest: int) -> str:
    """Return the text without white space around it; Refused where it is too long."""
    kept = text.strip()
    if len(kept) > longest:
        raise Refused(
            _("Write at most {longest} characters; these are {kept_count}.").format(
                longest=longest, kept_count=len(kept)
            ),
            field=field,
        )
    return kept


def judges_own_piece(panel: Panel) -> list[Judge]:
    """Return the judges who made a piece in one of the runs that the panel looks at."""
    return list(
        panel.judges.exclude(state=Judge.State.STOOD_DOWN)
        .filter(person__in=_makers(panel))
        .select_related("person")
    )


def made_a_piece(panel: Panel, person: Person) -> bool:
    """Say whether the person was a trainee in one of the runs that the panel looks at."""
    return _makers(panel).filter(pk=person.pk).exists()


def _makers(panel: Panel) -> QuerySet[Person]:
    runs = Enrolment.objects.filter(run__in=panel.sources.order_by())
    return Person.objects.filter(pk__in=runs.values("person"))

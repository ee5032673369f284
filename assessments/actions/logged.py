"""Making a note of the site log evidence of a criterion or hold point: entered once."""

from collections.abc import Sequence

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils.translation import gettext as _

from assessments.models import Attempt, LoggedEvidence
from assessments.queries.scope import attempts_assessable_by
from assessments.subjects import find_subject, subjects_of
from training.actions.log import write_log
from training.errors import Refused
from training.models import LogNote, Person


@transaction.atomic
def show_as_evidence(
    *, actor: Person, note: LogNote, attempt: Attempt, subjects: Sequence[tuple[str, str]]
) -> list[LoggedEvidence]:
    """Say that a note shows something of each of ``subjects``, (kind, key) of the standard.

    Returns a row for each; what was said before is not said twice. Raises PermissionDenied for
    who may not assess the attempt; Refused where the note is another run's or was corrected
    meanwhile, where the attempt is signed off, and at ``subjects`` where there is none or the
    standard has no such subject.
    """
    if not attempts_assessable_by(actor).filter(pk=attempt.pk).exists():
        raise PermissionDenied(_("Only a lead or an instructor of the run says what a note shows."))
    # Signing off locks the row: nothing is shown between its reading and the decision.
    locked = (
        Attempt.objects.select_for_update(of=("self",), no_key=True)
        .select_related("standard", "enrolment")
        .get(pk=attempt.pk)
    )
    if locked.enrolment.run_id != note.run_id:
        raise Refused(_("This note is of another run than the attempt."), field="attempt")
    if locked.state != Attempt.State.OPEN:
        raise Refused(
            _("This attempt is signed off: nothing is added to what it was decided on."),
            field="attempt",
        )
    if LogNote.objects.filter(replaces=note).exists():
        raise Refused(_("This note was corrected meanwhile. Open it anew."))
    _check(locked, subjects)
    rows = []
    made = []
    for kind, key in dict.fromkeys(subjects):
        row, new = LoggedEvidence.objects.get_or_create(
            attempt=locked,
            note=note,
            subject_kind=kind,
            subject_key=key,
            defaults={"by": actor},
        )
        rows.append(row)
        made += [{"kind": kind, "key": key}] if new else []
    if made:
        write_log(
            actor=actor,
            verb="attempt.evidence_logged",
            subject=locked,
            data={"note": str(note.pk), "subjects": made},
        )
    return rows


def _check(attempt: Attempt, subjects: Sequence[tuple[str, str]]) -> None:
    if not subjects:
        raise Refused(_("Choose at least one criterion or hold point."), field="subjects")
    known = subjects_of(attempt.standard.document)
    for kind, key in subjects:
        if find_subject(known, kind, key) is None:
            missing = (
                _("The standard of this attempt has no hold point {key}: choose one of the list.")
                if kind == "hold_point"
                else _(
                    "The standard of this attempt has no criterion {key}: choose one of the list."
                )
            )
            raise Refused(missing.format(key=key), field="subjects")

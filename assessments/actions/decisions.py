"""Signing off: what the engine makes of the observations becomes the decision."""

from collections.abc import Mapping
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.actions.constraints import violated
from assessments.actions.result_letters import tell_decided
from assessments.engine import VERSION, decide
from assessments.engine.canonical import digest
from assessments.engine.errors import EngineError
from assessments.models import Attempt, Decision
from assessments.queries.attempts import observations_document
from assessments.queries.calibration.authority import authority_of, site_day
from assessments.queries.scope import attempts_assessable_by
from training.actions.log import write_log
from training.actions.state import change_state
from training.errors import Refused
from training.models import Person
from training.said import said

ATTEMPT_CHANGES: Mapping[str, set[str]] = {Attempt.State.OPEN: {Attempt.State.DECIDED}}
LONGEST_NOTE = 2000
WHO_SIGNS = N_(
    "Somebody who is authorised must sign. To be authorised, score the reference pieces of the "
    "program under Calibration; then a training lead authorises you. You may go on scoring."
)


@transaction.atomic
def sign_off(
    *,
    actor: Person,
    attempt: Attempt,
    password_checked: bool,
    note: str = "",
    seen: str | None = None,
) -> Decision:
    """Decide the attempt by the engine, store the decision with all it rests on, close the attempt.

    The trainee is told by e-mail that the result is there, without the result.
    ``password_checked`` says that ``actor`` gave the own password for this very act; ``seen`` is
    the digest of the observations document that the signer was shown, if any. Raises
    PermissionDenied for who may not assess the attempt; Refused when the password was not given
    (at ``password``), the program asks for an authority that ``actor`` does not have today, the
    attempt is not open, something was scored since ``seen``, the result is undecided, or it is
    incomplete and ``note`` does not say why it is closed (at ``note``).
    """
    if not attempts_assessable_by(actor).filter(pk=attempt.pk).exists():
        raise PermissionDenied(_("Only a lead or an instructor of the run signs this attempt off."))
    if not password_checked:
        raise Refused(_("Sign with your password."), field="password")
    # Observations take a share lock on this row: none can come between reading and deciding.
    locked = (
        Attempt.objects.select_for_update(of=("self",))
        .select_related(
            "standard", "enrolment__person", "enrolment__run__site", "enrolment__run__program"
        )
        .get(pk=attempt.pk)
    )
    if locked.state != Attempt.State.OPEN:
        raise Refused(_("This attempt is signed off already. Reload the page to see its result."))
    _require_authority(actor, locked)
    observations = observations_document(locked)
    if seen is not None and seen != digest(observations):
        raise Refused(_("Something was scored after you opened this page. Read the result again."))
    document = _decided(locked, observations)
    reason = _closing_note(document, note)
    decision = _stored(
        Decision(
            attempt=locked,
            standard_digest=locked.standard.digest,
            result=document["result"],
            document=document,
            observations=observations,
            engine_version=VERSION,
            note=reason,
            decided_by=actor,
        )
    )
    change_state(locked, to=Attempt.State.DECIDED, allowed=ATTEMPT_CHANGES)
    write_log(
        actor=actor,
        verb="attempt.decided",
        subject=decision,
        data={
            "attempt": str(locked.pk),
            "result": decision.result,
            "document_digest": digest(document),
            "observations_digest": digest(observations),
            "standard_digest": decision.standard_digest,
        },
    )
    tell_decided(locked)
    return decision


def decide_again(decision: Decision) -> dict[str, Any]:
    """Return what the engine makes now of what the decision rests on; same as its document."""
    return decide(decision.attempt.standard.document, decision.observations)


def _require_authority(actor: Person, attempt: Attempt) -> None:
    """Refuse where the program asks for an authority that ``actor`` has not today, at the site."""
    authority = authority_of(attempt.standard.program_id, actor)
    if not authority.holds(site_day(attempt)):
        raise Refused(f"{authority.why_not()} {_(WHO_SIGNS)}")


def _stored(decision: Decision) -> Decision:
    try:
        with transaction.atomic():
            decision.save(force_insert=True)
    except IntegrityError as error:
        if violated(error) != "decision_by_authorised":
            raise
        # The authority was taken, or its last day ended, between asking for it and signing.
        raise Refused(
            _("Your authority to sign off ended just now. {who_signs}").format(
                who_signs=_(WHO_SIGNS)
            )
        ) from error
    return decision


def _decided(attempt: Attempt, observations: dict[str, Any]) -> dict[str, Any]:
    try:
        return decide(attempt.standard.document, observations)
    except EngineError as error:
        raise Refused(
            _("The engine cannot decide on this: {error}").format(error=said(str(error)))
        ) from error


def _closing_note(document: dict[str, Any], note: str) -> str:
    text = note.strip()
    if len(text) > LONGEST_NOTE:
        raise Refused(
            _("The note has {count} characters: keep it to {most}.").format(
                count=len(text), most=LONGEST_NOTE
            ),
            field="note",
        )
    if document["result"] == "undecided":
        raise Refused(
            _(
                "The standard leaves this undecided: a second assessor must score the piece. Where "
                "two have scored, look at what they differ on together; each corrects the own "
                "score."
            )
        )
    if document["result"] == Decision.Result.INCOMPLETE and not text:
        raise Refused(
            _(
                "Something is still to be observed. Score it, or write here why the attempt is "
                "closed without it."
            ),
            field="note",
        )
    return text

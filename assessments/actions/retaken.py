"""What makes an attempt a retake: the row that names the one before, and what is taken over."""

import uuid

from assessments.engine.canonical import digest
from assessments.engine.second_look import Again
from assessments.models import Attempt, Observation, Retake
from assessments.queries.retakes import Retaking
from training.actions.log import write_log
from training.models import Person


def record_retake(
    *,
    actor: Person,
    attempt: Attempt,
    before: Retaking,
    again: Again | None = None,
    stands: str = "",
) -> Retake:
    """Store that ``attempt`` is made after ``before``, and take over what stands; in a transaction.

    Without ``again`` the whole task is made again. ``stands`` is what was seen of the work that
    stands. Each current observation of a stage that stands is copied with its assessor, value,
    note and time, in an epoch of their own.
    """
    again = again or Again()
    retake = Retake.objects.create(
        attempt=attempt,
        of=before.of,
        decision=before.decision,
        stages=list(again.stages),
        carried=list(again.carried),
        stands=stands,
        made_by=actor,
    )
    rows = _taken_over(attempt, before.of, again)
    Observation.objects.bulk_create(rows)
    write_log(
        actor=actor,
        verb="retake.started",
        subject=attempt,
        data={
            "of": str(before.of.pk),
            "decision": str(before.decision.pk),
            "stages": retake.stages,
            "carried": retake.carried,
            "stands": stands,
            "observations": [{"id": str(row.pk), "from": str(row.carried_from_id)} for row in rows],
        },
    )
    return retake


def _taken_over(attempt: Attempt, of: Attempt, again: Again) -> list[Observation]:
    if again.whole:
        return []
    stage_of = {row["key"]: row["stage"] for row in attempt.standard.document["criteria"]}
    current = of.observations.filter(replaced_by__isnull=True).order_by("received_at", "seq", "pk")
    standing = [
        row
        for row in current
        if not row.value.get("cleared")
        and stage_of.get(row.subject_key, row.subject_key) in again.carried
    ]
    epoch = uuid.uuid4()
    return [_copy(attempt, row, epoch, seq) for seq, row in enumerate(standing, 1)]


def _copy(attempt: Attempt, row: Observation, epoch: uuid.UUID, seq: int) -> Observation:
    """Return the same fact, not saved yet, as one of ``attempt``."""
    made = Observation(
        id=uuid.uuid4(),
        attempt=attempt,
        subject_kind=row.subject_kind,
        subject_key=row.subject_key,
        assessor_id=row.assessor_id,
        device=row.device,
        epoch=epoch,
        seq=seq,
        value=row.value,
        note=row.note,
        device_time=row.device_time,
        device_zone=row.device_zone,
        standard_digest=row.standard_digest,
        schema_version=row.schema_version,
        carried_from=row,
    )
    made.content_digest = digest(
        {
            "id": str(made.pk),
            "attempt": str(attempt.pk),
            "epoch": str(epoch),
            "seq": seq,
            "carried_from": str(row.pk),
            "content_digest": row.content_digest,
        }
    )
    return made

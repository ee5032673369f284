"""Making the evidence report on a sealed standard."""

from typing import Any

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from assessments.engine.canonical import digest
from assessments.evidence.errors import EvidenceError
from assessments.evidence.score_document import scores_document
from assessments.models import EvidenceReport, SealedStandard
from assessments.queries.evidence import Cohort, cohort_of
from training.actions.log import write_log
from training.actions.permission import require_lead
from training.errors import Refused
from training.models import Person

SAMPLES = 1000
SEED = 1


def make_evidence(
    *, actor: Person, standard: SealedStandard, samples: int = SAMPLES, seed: int = SEED
) -> EvidenceReport:
    """Work out the figures of the attempts decided under ``standard``, keep them, return them.

    ``samples`` are drawn from ``seed`` for the intervals: the same scores give the same report.
    Raises PermissionDenied for anyone but a lead of the provider; Refused where no attempt is
    decided yet, nothing changed since the newest report, or the analysis cannot use ``samples``.
    """
    require_lead(actor, standard.program.provider)
    # What is decided after this moment is new to the report.
    made_at = timezone.now()
    cohort = cohort_of(standard)
    if not cohort.scores.trainees:
        raise Refused(
            _("No attempt under this standard is decided yet: score and sign off the first ones.")
        )
    _refuse_the_same(standard, cohort)
    # These libraries take seconds to load: only who makes a report waits for them.
    from assessments.evidence.report import evidence_document

    try:
        document = evidence_document(cohort.scores, samples=samples, seed=seed)
    except EvidenceError as error:
        raise Refused(_("The figures cannot be worked out: {error}").format(error=error)) from error
    # What the arrays do not say: how many people and runs, and when. With the scores, anybody
    # can work the figures out again: python -m assessments.evidence.
    document = {
        **document,
        "cohort": {**document["cohort"], **cohort.facts},
        "scores": scores_document(cohort.scores),
    }
    report = EvidenceReport(
        standard=standard,
        input_digest=cohort.digest,
        document=document,
        digest=digest(document),
        made_at=made_at,
        made_by=actor,
    )
    # It takes seconds to work out: only keeping it is one transaction.
    return _keep(report, cohort, {"samples": samples, "seed": seed})


@transaction.atomic
def _keep(report: EvidenceReport, cohort: Cohort, drawn: dict[str, Any]) -> EvidenceReport:
    locked = SealedStandard.objects.select_for_update(no_key=True).only("pk")
    _refuse_the_same(locked.get(pk=report.standard_id), cohort)
    report.save(force_insert=True)
    write_log(
        actor=report.made_by,
        verb="evidence.made",
        subject=report,
        data={
            "standard": str(report.standard_id),
            "attempts": len(cohort.scores.trainees),
            "input_digest": report.input_digest,
            "digest": report.digest,
            **drawn,
        },
    )
    return report


def _refuse_the_same(standard: SealedStandard, cohort: Cohort) -> None:
    newest = standard.evidence_reports.only("input_digest").first()
    if newest is not None and newest.input_digest == cohort.digest:
        raise Refused(
            _("Nothing new since the newest report: the same scores give the same figures.")
        )

"""What a device takes up to the scaffold: the run, its standard, and whom to score.

``bankermark/pack/1`` is a JSON object; numbers that decide are whole numbers or fractions as
text, worked out by the engine. ``sums`` has, for each measured criterion, ``lower_nm`` and
``upper_nm`` (in the base unit of its quantity, nm for a length; null without), ``guard_square``
(the square of the guard band as [numerator, denominator], or null) and ``unit``. ``current`` of
a trainee is what this assessor scored so far, by "kind:key"; ``accepted`` are the hold points
that another assessor accepted; ``stands`` are the subjects, as "kind:key", that stand from the
attempt before and are not scored again. A trainee without an attempt to score here has
``attempt`` null, and ``sentence`` says why.
"""

import uuid
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Prefetch
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.actions.attempts import cannot_start
from assessments.actions.site.packs import token_of
from assessments.engine.kinds import Measured
from assessments.engine.standard import load_standard
from assessments.models import Attempt, Observation, Pack, SealedStandard
from assessments.queries.task_sheet import TaskSheet, sheet_of
from assessments.subjects import HOLD_POINT, subjects_of
from training.errors import Refused
from training.models import CourseRun, Enrolment
from training.queries.fit import Applies, Missing, day_at, unfit

SCHEMA = "bankermark/pack/1"
NOT_OPEN = N_("No attempt is open. Start one at the desk, then take the run again.")
OTHER_STANDARD = N_("This attempt is under another standard than the others: score it at the desk.")
OWN = N_("Nobody assesses the own work.")


def pack_document(pack: Pack) -> dict[str, Any]:
    """Return the pack as a device keeps it (five queries, six under a standard without a task).

    Two more look for missing papers where somebody has no open attempt.

    The standard is the one that most of the open attempts are under, the latest of equals; the
    others are scored at the desk. Raises Refused where none is sealed.
    """
    run = CourseRun.objects.select_related("site", "program").get(pk=pack.run_id)
    enrolments = _enrolments(run)
    standard = _standard_of(pack, enrolments)
    loaded = load_standard(standard.document)
    attempts = [attempt for each in enrolments for attempt in each.attempts.all()]
    observed = _observed(pack, attempts)
    sheet = sheet_of(run.program, standard.document)
    waiting = [each for each in enrolments if not each.attempts.all()]
    missing = unfit(waiting, run.program, day_at(run.site), Applies.PRACTICAL) if waiting else {}
    return {
        "schema": SCHEMA,
        "id": str(pack.pk),
        "token": token_of(pack),
        "expires_at": pack.expires_at.isoformat(),
        "taken_at": pack.taken_at.isoformat(),
        "device": str(pack.device),
        "assessor": {"id": str(pack.assessor_id), "name": pack.assessor.full_name},
        "run": run_document(run),
        "standard": {"digest": standard.digest, "document": standard.document},
        "sums": {
            each.key: sums_of(each.rule)
            for each in loaded.criteria
            if isinstance(each.rule, Measured)
        },
        "task_sheet": _task_sheet(sheet),
        "cautions": sheet.cautions,
        "photos": _slots(standard.document),
        "trainees": [
            _trainee(pack, each, standard, observed, missing.get(each.person_id))
            for each in enrolments
        ],
    }


def run_document(run: CourseRun) -> dict[str, str]:
    """Return what a device shows of a run; its site and program must be loaded."""
    return {
        "id": str(run.pk),
        "title": run.program.title,
        "site": run.site.name,
        "time_zone": run.site.time_zone,
        "starts_on": run.starts_on.isoformat(),
        "ends_on": run.ends_on.isoformat(),
    }


def sums_of(rule: Measured) -> dict[str, Any]:
    """Return the limits and guard band that a device judges readings by, exact."""
    lower, upper, square = rule.limits.lower, rule.limits.upper, rule.guard_band_square
    return {
        "lower_nm": None if lower is None else str(lower),
        "upper_nm": None if upper is None else str(upper),
        "guard_square": square and [str(square.numerator), str(square.denominator)],
        "unit": rule.unit,
    }


def _enrolments(run: CourseRun) -> list[Enrolment]:
    attempts = Attempt.objects.filter(state=Attempt.State.OPEN)
    return list(
        run.enrolments.filter(state=Enrolment.State.ENROLLED)
        .select_related("person")
        .order_by("person__full_name", "pk")
        .prefetch_related(Prefetch("attempts", attempts))
    )


def _standard_of(pack: Pack, enrolments: Sequence[Enrolment]) -> SealedStandard:
    """Return the standard of most open attempts that may be scored (one query)."""
    used = [
        attempt.standard_id
        for each in enrolments
        for attempt in each.attempts.all()
        if each.person_id != pack.assessor_id
    ]
    standards = SealedStandard.objects.filter(program=pack.run.program_id)
    found = list(standards.filter(pk__in=used) if used else standards.order_by("-serial")[:1])
    if not found:
        raise Refused(
            _("No passing standard of this program is sealed: a training lead seals one.")
        )
    return max(found, key=lambda each: (used.count(each.pk), each.serial))


@dataclass
class _Observed:
    """What is known of one attempt: see ``current``, ``accepted`` and ``stands`` above."""

    own: dict[str, Any] = field(default_factory=dict)
    accepted: set[str] = field(default_factory=set)
    stands: set[str] = field(default_factory=set)


def _observed(pack: Pack, attempts: Sequence[Attempt]) -> Mapping[uuid.UUID, _Observed]:
    """Return, by attempt, what is scored and what stands (one query)."""
    found: dict[uuid.UUID, _Observed] = defaultdict(_Observed)
    rows = Observation.objects.filter(attempt__in=attempts, replaced_by__isnull=True)
    for row in rows.order_by("received_at", "seq", "pk"):
        known, subject = found[row.attempt_id], f"{row.subject_kind}:{row.subject_key}"
        if row.carried_from_id:
            known.stands.add(subject)
        elif row.assessor_id == pack.assessor_id:
            known.own[subject] = {"id": str(row.pk), "value": row.value, "note": row.note}
        elif row.subject_kind == HOLD_POINT and row.value.get("accepted"):
            known.accepted.add(row.subject_key)
    return found


def _trainee(
    pack: Pack,
    enrolment: Enrolment,
    standard: SealedStandard,
    observed: Mapping[uuid.UUID, _Observed],
    missing: Sequence[Missing] | None,
) -> dict[str, Any]:
    attempt = next(iter(enrolment.attempts.all()), None)
    sentence = None
    if enrolment.person_id == pack.assessor_id:
        sentence = _(OWN)
    elif attempt is None:
        sentence = cannot_start(enrolment.person, missing) if missing else _(NOT_OPEN)
    elif attempt.standard_id != standard.pk:
        sentence = _(OTHER_STANDARD)
    scored = attempt if sentence is None else None
    known = observed[scored.pk] if scored else _Observed()
    return {
        "enrolment": str(enrolment.pk),
        "attempt": str(scored.pk) if scored else None,
        "name": enrolment.person.full_name,
        "sentence": sentence,
        "current": known.own,
        "accepted": sorted(known.accepted),
        "stands": sorted(known.stands),
    }


def _task_sheet(sheet: TaskSheet) -> dict[str, Any]:
    return {
        "title": sheet.title,
        "brief": sheet.brief,
        "conditions": sheet.conditions,
        "dimensions": [{"name": name, "value": text} for name, text in sheet.dimensions],
        "sums": [
            {
                "title": each.title,
                "inputs": [{"name": name, "value": text} for name, text in each.inputs],
                "results": [{"name": name, "value": text} for name, text in each.results],
                "working": each.working,
            }
            for each in sheet.sums
        ],
        "trouble": sheet.trouble,
    }


def _slots(document: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return one photograph a stage: of its hold point, else of its first criterion."""
    subjects = subjects_of(document)
    slots = []
    for index, stage in enumerate(document["stages"]):
        of_stage = [each for each in subjects if each.stage == index]
        if of_stage:
            last = of_stage[-1]
            chosen = last if last.kind == HOLD_POINT else of_stage[0]
            subject = {"kind": chosen.kind, "key": chosen.key}
            slots.append({"stage": stage["key"], "title": stage["title"], "subject": subject})
    return slots

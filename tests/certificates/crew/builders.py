"""Makers of crews, records without files and confirmations for the tests; all invented."""

import copy
import hashlib
import itertools
from datetime import UTC, date, datetime, timedelta
from typing import Any

from django.utils import timezone

from assessments.models import Attempt, Decision, SealedStandard
from certificates.models import Confirmation, Record, Retraction
from certificates.numbers import new_number
from tests.assessments.builders import standard_document
from tests.factories import make_organisation, make_person, make_program, make_role
from tests.triggers import lifted
from training.digests import digest
from training.models import (
    CourseRun,
    Employment,
    Enrolment,
    Organisation,
    Person,
    Program,
    Role,
    Site,
)

_counter = itertools.count(1)

ISSUED = datetime(2026, 11, 10, 15, 0, tzinfo=UTC)

# The form is that of assessments/engine/FORMATS.md, ``about.qualification``.
QUALIFICATION: dict[str, Any] = {
    "basis": "Set by the program's author for these tests.",
    "variables": [
        {
            "key": "stone",
            "title": "Stone",
            "kind": "as_assessed",
            "source": "The author",
            "values": ["sandstone", "limestone", "granite"],
            "assessed": ["sandstone", "limestone"],
        },
        {
            "key": "position",
            "title": "Position",
            "kind": "ordered",
            "source": "The author",
            "values": ["sill", "vertical face", "soffit"],
            "assessed": "vertical face",
        },
        {
            "key": "depth",
            "title": "Depth of the piece",
            "kind": "window",
            "source": "The author",
            "unit": "in",
            "assessed": "4",
            "from": "1/2",
            "to": "2",
        },
    ],
}


def course(
    *,
    continuity: tuple[int, int] | None = None,
    qualification: dict[str, Any] | None = None,
    zone: str = "America/New_York",
    provider: Organisation | None = None,
    **fields: object,
) -> Program:
    """Return a saved program with a sealed standard and an open run on a site in ``zone``.

    ``continuity`` is (months, days of grace). ``qualification`` replaces the rules of
    QUALIFICATION; ``{}`` seals none. ``fields`` are those of the program.
    """
    program = make_program(provider or make_organisation(), **fields)
    rules = copy.deepcopy(QUALIFICATION if qualification is None else qualification)
    if continuity:
        months, days = continuity
        rules["continuity"] = {"every_months": months, "grace_days": days}
    seal(program, rules)
    run_in(program, zone)
    return program


def seal(program: Program, rules: dict[str, Any]) -> SealedStandard:
    """Return the next standard of ``program`` with these rules of qualification, sealed now."""
    about = {"about": {"qualification": rules}} if rules else {}
    document = standard_document(program, **about)
    document["serial"] = next(_counter)  # two standards of a program are never the same
    return SealedStandard.objects.create(
        program=program,
        serial=program.standards.count() + 1,
        document=document,
        digest=digest(document),
        sealed_at=timezone.now(),
        sealed_by=_lead(program.provider),
    )


def run_in(program: Program, zone: str) -> CourseRun:
    """Return the run of ``program`` on a site in ``zone``, made when there is none."""
    found = program.runs.filter(site__time_zone=zone).first()
    if found:
        return found
    site = Site.objects.create(
        provider=program.provider, name=f"Church tower {next(_counter)}", time_zone=zone
    )
    return CourseRun.objects.create(
        program=program,
        site=site,
        starts_on=date(2026, 11, 2),
        ends_on=date(2026, 11, 6),
        state=CourseRun.State.OPEN,
    )


def firm(name: str | None = None) -> tuple[Organisation, Person]:
    """Return a contractor and its manager."""
    organisation = make_organisation(Organisation.Kind.CONTRACTOR, name)
    return organisation, make_role(Role.Kind.CONTRACTOR, organisation)


def crew_member(
    organisation: Organisation,
    name: str | None = None,
    *,
    since: date = date(2026, 1, 5),
    until: date | None = None,
) -> Person:
    """Return a new person whom ``organisation`` employs from ``since`` to ``until``."""
    person = make_person(name)
    Employment.objects.create(person=person, organisation=organisation, since=since, until=until)
    return person


def decided(
    person: Person,
    program: Program,
    *,
    result: str = Decision.Result.MET,
    zone: str | None = None,
    attempt: Attempt | None = None,
    replaces: Decision | None = None,
    decided_at: datetime = ISSUED,
) -> Decision:
    """Return a decided attempt's decision, without observations; the standard sealed last.

    ``zone`` chooses the run by its site; without, it is the program's first.
    """
    lead = _lead(program.provider)
    if replaces:
        attempt = replaces.attempt
    if attempt is None:
        run = run_in(program, zone) if zone else program.runs.order_by("starts_on", "pk")[0]
        enrolment, _ = Enrolment.objects.get_or_create(run=run, person=person)
        attempt = Attempt.objects.create(
            enrolment=enrolment,
            standard=program.standards.latest("serial"),
            number=enrolment.attempts.count() + 1,
            state=Attempt.State.DECIDED,
            started_by=lead,
        )
    return Decision.objects.create(
        attempt=attempt,
        standard_digest=attempt.standard.digest,
        result=result,
        document={},
        observations={},
        engine_version="0",
        note="Left early." if result == Decision.Result.INCOMPLETE else "",
        decided_at=decided_at,
        decided_by=lead,
        replaces=replaces,
    )


def record_for(
    person: Person,
    program: Program,
    *,
    issued_at: datetime = ISSUED,
    valid_until: date | None = None,
    replaces: Record | None = None,
    decision: Decision | None = None,
    zone: str | None = None,
    **fields: Any,
) -> Record:
    """Return a record's row, with the digest of a file that does not exist.

    ``replaces`` makes it a correction: of the same decision, unless ``decision`` is given.
    """
    if decision is None:
        decision = (
            replaces.decision
            if replaces
            else decided(person, program, zone=zone, decided_at=issued_at)
        )
    number = new_number()
    document = {"number": number, "program": {"code": program.code, "title": program.title}}
    values: dict[str, Any] = {
        "provider": program.provider,
        "serial": Record.objects.filter(provider=program.provider).count() + 1,
        "number": number,
        "decision": decision,
        "holder": person,
        "document": document,
        "digest": digest(document),
        "pdf": f"records/{number}.pdf",
        "pdf_sha256": hashlib.sha256(number.encode()).hexdigest(),
        "certificate_sha256": "0" * 64,
        "issued_at": issued_at,
        "issued_by": decision.decided_by,
        "valid_until": valid_until,
        "replaces": replaces,
    }
    return Record.objects.create(**{**values, **fields})


def confirm(
    record: Record,
    worked_on: date,
    *,
    signed_on: date | None = None,
    organisation: Organisation | None = None,
    by: Person | None = None,
    project_name: str = "Work on the north face",
) -> Confirmation:
    """Return a confirmation of any day: what keeps others from dating back is lifted for it."""
    if organisation is None:
        organisation = by.roles.get().organisation if by else make_organisation("contractor")
    with lifted("certificates_confirmation"):
        return Confirmation.objects.create(
            attempt=record.decision.attempt,
            record=record,
            organisation=organisation,
            project_name=project_name,
            worked_on=worked_on,
            signed_on=signed_on or worked_on,
            signed_by=by or make_role(Role.Kind.CONTRACTOR, organisation),
        )


def take_back(confirmation: Confirmation, *, at: datetime | None = None) -> Retraction:
    """Return the retraction of a confirmation, saved."""
    return Retraction.objects.create(
        confirmation=confirmation,
        reason="It was another mason who did this work.",
        by=confirmation.signed_by,
        at=at or timezone.now(),
    )


def days_ago(number: int) -> date:
    """Return the day so many days before today."""
    return timezone.localdate() - timedelta(days=number)


def _lead(provider: Organisation) -> Person:
    role = provider.roles.filter(kind=Role.Kind.LEAD).select_related("person").first()
    return role.person if role else make_role(Role.Kind.LEAD, provider)

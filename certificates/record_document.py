"""The machine-readable record: what the paper says, and what the decision was made from.

The format is ``bankermark/record/1``. It holds the standard, the observations and the decision
whole, so that anybody can make the decision again from the file alone.
"""

from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from assessments.engine.qualification import stated_range
from assessments.models import Attempt, Decision, PracticalTask
from certificates.photographs import photographs_of
from training.dates import months_later
from training.models import Person

SCHEMA = "bankermark/record/1"
# A standard may set no minimum for an outcome: then there is a score and nothing to be met.
RESULTS = {True: "met", False: "not_met", None: "no_minimum"}


def build_record_document(
    *,
    decision: Decision,
    number: str,
    issued_at: datetime,
    check_url: str,
    replaces: str | None = None,
) -> dict[str, Any]:
    """Return the record of ``decision`` as plain JSON data.

    ``issued_at`` is aware; days and times are told in the time zone of the site, with the
    offset. ``range`` is there where the standard has rules for it, ``photos`` where the attempt
    has some (certificates/photographs.py). ``replaces`` is the number of the record that this
    one takes the place of.
    """
    attempt = decision.attempt
    run, standard = attempt.enrolment.run, attempt.standard
    program, site = run.program, run.site
    zone = ZoneInfo(site.time_zone)
    until = valid_until(issued_at.astimezone(zone).date(), program.validity_months)
    photos = photographs_of(attempt, zone)
    covered = stated_range(standard.document)
    return {
        "schema": SCHEMA,
        "number": number,
        "issuer": {"name": program.provider.name, "address": program.provider.address},
        "holder": {"name": attempt.enrolment.person.full_name},
        "program": {
            "code": program.code,
            "version": program.version,
            "title": program.title,
            "scope": program.scope,
        },
        "course_run": {
            "site": site.name,
            "starts_on": run.starts_on.isoformat(),
            "ends_on": run.ends_on.isoformat(),
        },
        "conditions": [
            {"name": str(condition["name"]), "value": str(condition["value"])}
            for condition in _conditions(attempt)
        ],
        "outcomes": _outcomes(decision),
        "result": decision.result,
        "decided_at": _in_zone(decision.decided_at, zone),
        "assessors": _assessors(decision),
        "standard": standard.document,
        "standard_digest": standard.digest,
        "sealed_at": _in_zone(standard.sealed_at, zone),
        "sealed_by": standard.sealed_by.full_name,
        "observations": decision.observations,
        "decision": decision.document,
        "issued_at": _in_zone(issued_at, zone),
        "valid_until": until.isoformat() if until else None,
        "check_url": check_url,
        "replaces": replaces,
        **({"range": covered} if covered else {}),
        **({"photos": photos} if photos else {}),
    }


def valid_until(issued_on: date, months: int | None) -> date | None:
    """Return the last day of validity: the same day ``months`` later; None without a limit.

    A day that the later month does not have becomes its last one.

    >>> valid_until(date(2028, 2, 29), 12)
    datetime.date(2029, 2, 28)
    """
    if months is None:
        return None
    return months_later(issued_on, months)


def _conditions(attempt: Attempt) -> list[dict[str, Any]]:
    """Return the conditions that were sealed; the program's own where an older seal has none."""
    sealed = attempt.standard.document.get("about", {}).get("task", {})
    if "conditions" in sealed:
        return list(sealed["conditions"])
    task = PracticalTask.objects.filter(program=attempt.standard.program_id).first()
    return task.conditions if task else []


def _outcomes(decision: Decision) -> list[dict[str, Any]]:
    found = {outcome["key"]: outcome for outcome in decision.document["outcomes"]}
    return [
        {
            "key": outcome["key"],
            "statement": outcome["statement"],
            "result": RESULTS[found[outcome["key"]]["met"]],
            "score": found[outcome["key"]]["score"],
        }
        for outcome in decision.attempt.standard.document["outcomes"]
    ]


def _assessors(decision: Decision) -> list[dict[str, str]]:
    """Return who made the observations, under the ids that these carry, by name."""
    ids = {str(found["assessor"]) for found in decision.observations["observations"]}
    people = Person.objects.filter(pk__in=[key for key in ids if key.isdecimal()])
    named = sorted((person.full_name, str(person.pk)) for person in people)
    return [{"id": key, "name": name} for name, key in named]


def _in_zone(moment: datetime, zone: ZoneInfo) -> str:
    return moment.astimezone(zone).isoformat(timespec="seconds")

"""A made-up crew in the database, in bulk, and the bare query about it; for bench_coverage."""

from __future__ import annotations

import copy
import random
from datetime import timedelta
from typing import Any

import numpy as np
from django.db import connection
from django.utils import timezone

from assessments.models import Attempt, Decision
from certificates.models import Post, Project, Record, StatusChange
from certificates.queries.project_coverage import ProjectCoverage
from tests.bench.bench_crew import Arrays
from tests.certificates.crew.builders import QUALIFICATION, course, firm, record_for, seal
from tests.certificates.crew.coverage.builders import project_for
from tests.factories import make_organisation, make_person
from tests.triggers import lifted
from training.models import Employment, Enrolment, Organisation, Person, Program

PROGRAMS, POSTS, DAYS, SEED = 20, 200, 365, 20270104
RARE = 5  # of the last programs only four records in a hundred are valid
CONTINUITY = (6, 30)  # of the first programs, as many as are rare; months, and days of grace
POSITIONS = ["sill", "vertical face", "soffit"]


def fill(masons: int) -> Project:
    """Return a new contractor's project with so many masons, all with every qualification."""
    contractor, provider = firm()[0], make_organisation()
    programs = [
        course(provider=provider, continuity=CONTINUITY if number < RARE else None)
        for number in range(PROGRAMS)
    ]
    first = _people(masons, contractor)
    tables = [each._meta.db_table for each in (Attempt, Decision, Record, Enrolment)]
    for number, program in enumerate(programs):
        for half, harder in enumerate((False, True)):
            if harder:
                _seal_harder(program, continuity=number < RARE)
            model = record_for(make_person(), program)
            with lifted(*tables):
                _records(model, first, range(half, masons, 2), rare=number >= PROGRAMS - RARE)
    project = project_for(contractor, starts_on=timezone.localdate(), days=DAYS)
    _posts(project, programs, masons)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    return project


def _people(masons: int, contractor: Organisation) -> int:
    """Employ so many new people, each tenth until some day; the first one's key."""
    word = make_person().email.replace("@", "-{}@")
    people = Person.objects.bulk_create(
        [
            Person(email=word.format(n), full_name=f"Mason {n:05}", password="!")
            for n in range(masons)
        ]
    )
    today, pick = timezone.localdate(), random.Random(SEED)
    Employment.objects.bulk_create(
        [
            Employment(
                person=person,
                organisation=contractor,
                since=today - timedelta(days=400),
                until=today + timedelta(days=pick.randrange(DAYS)) if n % 10 == 0 else None,
            )
            for n, person in enumerate(people)
        ]
    )
    first: int = people[0].pk
    if [person.pk for person in people] != list(range(first, first + masons)):
        raise RuntimeError("the keys of the people do not follow on each other")
    return first


def _seal_harder(program: Program, *, continuity: bool) -> None:
    rules = copy.deepcopy(QUALIFICATION)
    rules["variables"][1]["assessed"] = "soffit"
    if continuity:
        rules["continuity"] = {"every_months": CONTINUITY[0], "grace_days": CONTINUITY[1]}
    seal(program, rules)


def _records(model: Record, first: int, span: range, *, rare: bool) -> None:
    """Give a copy of the record to the people of those numbers, each on days of their own."""
    attempt = model.decision.attempt

    def key(word: str) -> str:
        return f"md5('{word}{model.pk}' || n)"

    some = f"('x' || substr({key('days')}, 1, 7))::bit(28)::int"
    until = f"CURRENT_DATE + mod({some}, 900) - 60"
    if rare:
        until = f"CASE WHEN mod(n, 100) < 4 THEN {until} ELSE CURRENT_DATE - 1 END"
    there = Record.objects.filter(provider=model.provider).count()
    blocks = (f"substr(upper({key('number')}), {at}, 4)" for at in (1, 5, 9, 13))
    _copy(attempt.enrolment, span, id=f"{key('place')}::uuid", person_id=f"{first} + n")
    _copy(attempt, span, id=f"{key('attempt')}::uuid", enrolment_id=f"{key('place')}::uuid")
    _copy(model.decision, span, id=f"{key('decision')}::uuid", attempt_id=f"{key('attempt')}::uuid")
    _copy(
        model,
        span,
        id=f"{key('record')}::uuid",
        holder_id=f"{first} + n",
        decision_id=f"{key('decision')}::uuid",
        serial=f"{there} + 1 + (n - {span.start}) / {span.step}",
        number=" || '-' || ".join(blocks),
        pdf_sha256=f"encode(sha256({key('pdf')}::bytea), 'hex')",
        issued_at=f"now() - make_interval(days => mod({some}, 300))",
        valid_until=until,
    )


def _copy(model: Any, span: range, **changes: str) -> None:
    """Insert a copy of a row for each ``n`` of the span; ``changes`` are SQL by column."""
    columns = [field.column for field in model._meta.local_concrete_fields]
    table = connection.ops.quote_name(model._meta.db_table)
    values = ", ".join(changes.get(column, f't."{column}"') for column in columns)
    names = ", ".join(f'"{column}"' for column in columns)
    with connection.cursor() as cursor:
        cursor.execute(
            f"INSERT INTO {table} ({names}) SELECT {values} "
            f"FROM {table} t, generate_series(%s, %s, %s) n WHERE t.id = %s",
            [span.start, span.stop - 1, span.step, model.pk],
        )


def _posts(project: Project, programs: list[Program], masons: int) -> None:
    pick = random.Random(SEED)
    rows = []
    for number in range(POSTS):
        begins = pick.randrange(DAYS // 2)
        lasts = min(begins + pick.randint(14, DAYS), DAYS - 1)
        lead = pick.choice(programs) if pick.random() < 0.2 else None
        rows.append(
            Post(
                project=project,
                position=number + 1,
                code=f"P{number:03}",
                title=f"Work {number}",
                program=pick.choice(programs),
                conditions={"position": pick.choice(POSITIONS)},
                places=max(1, round(pick.uniform(0.2, 1.8) * masons / POSTS / 8)),
                starts_on=project.starts_on + timedelta(days=begins),
                ends_on=project.starts_on + timedelta(days=lasts),
                lead_program=lead,
                masons_per_lead=4 if lead else None,
            )
        )
    Post.objects.bulk_create(rows)


BARE = """
WITH place AS (SELECT * FROM unnest(%(places)s::int[], %(firsts)s::date[], %(lasts)s::date[])
    AS p (place, first, last)),
asked AS (SELECT * FROM unnest(%(at)s::int[], %(which)s::int[], %(standards)s::uuid[])
    AS a (place, which, standard)),
good AS MATERIALIZED (
    SELECT a.standard_id, r.holder_id,
        greatest((r.issued_at AT TIME ZONE 'America/New_York')::date, e.since) AS first,
        least(r.valid_until, e.until, CASE WHEN a.standard_id = ANY(%(chained)s::uuid[]) THEN
            ((r.issued_at AT TIME ZONE 'America/New_York')::date + interval '6 months')::date + 30
            END) AS last
    FROM certificates_record r
    JOIN assessments_decision d ON d.id = r.decision_id
    JOIN assessments_attempt a ON a.id = d.attempt_id
    JOIN training_employment e ON e.person_id = r.holder_id AND e.organisation_id = %(contractor)s
    WHERE r.valid_until >= %(start)s
)
SELECT place, holder_id, first - %(start)s::date, last - %(start)s::date FROM (
    SELECT p.place, g.holder_id, greatest(p.first, g.first, h.first) AS first,
        least(p.last, g.last, h.last) AS last
    FROM place p
    JOIN asked a ON a.place = p.place AND a.which = 0
    JOIN good g ON g.standard_id = a.standard
    LEFT JOIN (asked b JOIN good h ON h.standard_id = b.standard)
        ON b.place = p.place AND b.which = 1 AND h.holder_id = g.holder_id
    WHERE h.holder_id IS NOT NULL OR NOT p.place = ANY(%(led)s::int[])
) x WHERE first <= last AND last >= %(start)s
"""


def bare_arrays(found: ProjectCoverage) -> Arrays:
    """Who can fill which place when, by one query, as arrays for the bare matching."""
    start = found.coverage.first
    with connection.cursor() as cursor:
        cursor.execute(BARE, _parameters(found))
        rows = np.array(cursor.fetchall(), dtype=np.int64).reshape(-1, 4)
    rows = rows[np.lexsort((rows[:, 1], rows[:, 0]))]
    counts = np.array([place.places for place in found.facts.places])
    begins = np.concatenate([[0], np.cumsum(counts)])
    people, person = np.unique(rows[:, 1], return_inverse=True)
    firsts, lasts = np.maximum(rows[:, 2], 0), rows[:, 3]
    changes = {0, *firsts.tolist(), *(lasts + 1).tolist()}
    for place in found.facts.places:
        changes |= {
            max(0, (place.post.starts_on - start).days),
            (place.post.ends_on - start).days + 1,
        }
    # Each place of a post has the rows of its post, one place after the other.
    parts, at = [], np.searchsorted(rows[:, 0], np.arange(len(counts) + 1))
    for number, places in enumerate(counts):
        parts += [np.arange(at[number], at[number + 1])] * int(places)
    taken = np.concatenate(parts)
    of_place = np.repeat(np.arange(begins[-1]), [len(part) for part in parts])
    last_day = (found.coverage.last - start).days
    return Arrays(
        of_place,
        person[taken],
        firsts[taken],
        lasts[taken],
        int(begins[-1]),
        len(people),
        sorted(day for day in changes if day <= last_day),
    )


def _parameters(found: ProjectCoverage) -> dict[str, Any]:
    """The posts, and for each what was asked, the standards that answer it."""
    places, judge = found.facts.places, found.facts.judge
    families = {
        one.standard_id: (one.provider_id, one.program_code)
        for held in found.facts.families.values()
        for one in held
    }
    asked = [
        (number, which, standard)
        for number, place in enumerate(places)
        for which, ask in enumerate(place.asks)
        for standard, family in families.items()
        if family == (ask.provider, ask.code) and not judge.shortfalls(ask, standard)
    ]
    return {
        "places": list(range(len(places))),
        "firsts": [place.post.starts_on for place in places],
        "lasts": [place.post.ends_on for place in places],
        "led": [number for number, place in enumerate(places) if len(place.asks) > 1],
        "at": [row[0] for row in asked],
        "which": [row[1] for row in asked],
        "standards": [row[2] for row in asked],
        "chained": [key for key, rules in judge.rules.items() if rules and rules.continuity],
        "contractor": found.project.contractor_id,
        "start": found.coverage.first,
    }


def suspend_one(found: ProjectCoverage) -> int:
    """Suspend a record by which somebody fills a place on the first day; who it is."""
    span = next(span for span in found.coverage.spans if span.filled)
    key, person = next((key, int(who[0])) for key, who in span.assigned.items() if who)
    record = Record.objects.get(number=found.held[key, person].number)
    StatusChange.objects.create(
        record=record,
        number=1,
        change=StatusChange.Change.SUSPENDED,
        reason="A complaint is looked into.",
        at=timezone.now(),
        by=record.issued_by,
    )
    return person

"""How long the register of a large crew takes, against raw SQL, and how it grows.

Run ``python -m tests.bench.bench_register [MASONS]``. Each mason holds 20 records: two of each of
ten programs, with three confirmations each; one record in 50 was suspended, one confirmation in
100 taken back. The page is measured from the request to the finished answer, for a crew of a
tenth and for the whole one. The bare side runs the same statement through psycopg alone and fetches
it, so that the ratio tells what the page, its other queries and its template add; “joins alone”
is a statement that picks the row of each mason and program by its last day, without state or
confirmations, so that it tells what these cost. Both take turns.

5,000 masons are 100,000 records. Ten times as many fit into the memory of a server, and filling
the tables takes some minutes: ``bench_register 50000``.
"""

import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median
from typing import Any

from tests.bench.bench_jobs import database

MASONS = 5000
PROGRAMS = 10
ROUNDS = 5

GUARDED = (
    "assessments_attempt", "assessments_decision", "certificates_record",
    "certificates_confirmation", "certificates_retraction", "certificates_statuschange",
)  # fmt: skip
# Tables filled past the guards, as only a measurement may.
FILL = r"""
INSERT INTO training_person (id, password, email, full_name, is_active, joined_at)
    SELECT {first} + i, '!', 'm' || {first} + i || '@example.org',
        chr(65 + (i * 7) % 26) || 'nna ' || md5(i::text), true, now()
    FROM generate_series(1, {masons}) i;
INSERT INTO training_employment (person_id, organisation_id, since)
    SELECT {first} + i, {firm}, '2020-01-01' FROM generate_series(1, {masons}) i;
CREATE TEMP TABLE seats ON COMMIT DROP AS
    SELECT gen_random_uuid() AS enrolment, {first} + i AS person, c.id AS run, c.program_id
    FROM generate_series(1, {masons}) i, training_courserun c;
INSERT INTO training_enrolment (id, run_id, person_id, state, enrolled_at)
    SELECT enrolment, run, person, 'enrolled', '2020-01-01' FROM seats;
CREATE TEMP TABLE gone ON COMMIT DROP AS
    SELECT gen_random_uuid() AS attempt, gen_random_uuid() AS decision, gen_random_uuid() AS record,
        t.*, n, s.id AS standard, s.digest, row_number() OVER () AS place,
        now() - (random() * 500 + n * 400) * interval '1 day' AS at
    FROM seats t, generate_series(1, 2) n, assessments_sealedstandard s
    WHERE s.program_id = t.program_id;
INSERT INTO assessments_attempt (id, number, state, started_at, enrolment_id, standard_id,
        started_by_id)
    SELECT attempt, n, 'decided', at, enrolment, standard, {lead} FROM gone;
INSERT INTO assessments_decision (id, standard_digest, result, document, observations,
        engine_version, note, decided_at, attempt_id, decided_by_id)
    SELECT decision, digest, 'met', '{{}}', '{{}}', '0', '', at, attempt, {lead} FROM gone;
INSERT INTO certificates_record (id, serial, number, document, digest, pdf, pdf_sha256, competency,
        certificate_sha256, issued_at, valid_until, decision_id, holder_id, issued_by_id,
        provider_id)
    SELECT record, {serial} + place,
        upper(regexp_replace(md5(record::text),
            '^(.{{4}})(.{{4}})(.{{4}})(.{{4}}).*', '\1-\2-\3-\4')),
        '{{}}', repeat('0', 64), '', md5(record::text) || md5(place::text), '', repeat('0', 64), at,
        at::date + 1095, decision, person, {lead}, {provider} FROM gone;
INSERT INTO certificates_confirmation (project_name, work, worked_on, signed_on, signed_at,
        attempt_id, organisation_id, record_id, signed_by_id)
    SELECT 'North face', '', at::date + k * 150, at::date + k * 150 + 5, now(), attempt, {firm},
        record, {lead} FROM gone, generate_series(1, 3) k;
INSERT INTO certificates_retraction (confirmation_id, reason, at, by_id)
    SELECT id, 'Somebody else did it.', now(), {lead} FROM certificates_confirmation c
    WHERE id % 100 = 0 AND NOT EXISTS (
        SELECT 1 FROM certificates_retraction r WHERE r.confirmation_id = c.id);
INSERT INTO certificates_statuschange (number, change, reason, at, by_id, record_id)
    SELECT 1, 'suspended', 'A name was never checked.', at + interval '1 day', {lead}, record
    FROM gone WHERE place % 50 = 0;
"""

JOINS_ALONE = """
SELECT * FROM (
    SELECT DISTINCT ON (r.holder_id, c.program_id) p.full_name, g.code, r.number, r.valid_until
    FROM certificates_record r
    JOIN assessments_decision d ON d.id = r.decision_id
    JOIN assessments_attempt a ON a.id = d.attempt_id
    JOIN training_enrolment e ON e.id = a.enrolment_id
    JOIN training_courserun c ON c.id = e.run_id
    JOIN training_program g ON g.id = c.program_id
    JOIN training_person p ON p.id = r.holder_id
    JOIN training_employment m ON m.person_id = p.id AND m.organisation_id = %s
    ORDER BY r.holder_id, c.program_id, r.valid_until DESC
) best ORDER BY full_name, code LIMIT 50
"""


def main(masons: int) -> None:
    """Print the times of a tenth of the crew and of all of it, and their ratios."""
    from django.core.management import call_command

    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as name:
        folder = Path(name)
        folder.chmod(0o711)  # the account of the database server passes
        with database(folder / "data"):
            call_command("collectstatic", verbosity=0, interactive=False)
            print("masons  records   page ms   bare ms  ratio  joins ms  ratio  queries  CSV ms")
            crew = Crew()
            times = []
            for count in (masons // 10, masons):
                crew.grow_to(count)
                times.append(crew.measure())
            growth = times[1] / times[0]
            print(f"ten times the crew takes {growth:.1f} times as long for a page")


class Crew:
    """One contractor's crew in an otherwise empty database."""

    def __init__(self) -> None:
        from tests.certificates.crew.builders import course, firm  # need the set-up above
        from tests.factories import make_organisation, make_role

        self.provider = make_organisation()
        self.lead = make_role("lead", self.provider)
        self.firm, self.manager = firm()
        for number in range(PROGRAMS):
            rule = (6, 30) if number % 2 else None
            course(provider=self.provider, code=f"P{number}", continuity=rule)
        self.masons = 0

    def grow_to(self, masons: int) -> None:
        """Add masons with their records, and let the database look at its tables."""
        from django.db import connection, transaction

        from tests.triggers import lifted

        values = {
            "first": 1000 + self.masons,
            "masons": masons - self.masons,
            "serial": self.masons * 2 * PROGRAMS,
            "firm": self.firm.pk,
            "lead": self.lead.pk,
            "provider": self.provider.pk,
        }
        with transaction.atomic(), lifted(*GUARDED), connection.cursor() as cursor:
            for statement in FILL.format(**values).split(";\n"):
                if statement.strip():
                    cursor.execute(statement)
        self.masons = masons
        with connection.cursor() as cursor:
            cursor.execute("VACUUM ANALYZE")

    def measure(self) -> float:
        """Print a line; return the seconds of a page."""
        from django.test import Client
        from django.urls import reverse

        from certificates.queries import crew
        from certificates.queries.register_sql import page_sql

        client = Client(headers={"host": "localhost"})
        client.force_login(self.manager)
        address = reverse("crew")
        values = {**crew._values(self.manager, crew.Asked()), "size": crew.PAGE, "page": 1}

        def page() -> None:
            answer = client.get(address)
            assert answer.status_code == 200, answer.status_code

        def bare() -> list[Any]:
            return fetched(page_sql("name"), values)

        def joins() -> list[Any]:
            return fetched(JOINS_ALONE, [self.firm.pk])

        queries = counted(page)
        assert len(bare()) == len(joins()) == crew.PAGE
        mine, plain, lean = turns([page, bare, joins])
        begin = time.perf_counter()
        answer: Any = client.get(reverse("crew_csv"))
        lines = sum(1 for _ in answer.streaming_content)
        table = time.perf_counter() - begin
        assert lines == self.masons * PROGRAMS + 1
        records = self.masons * 2 * PROGRAMS
        print(
            f"{self.masons:6} {records:8} {mine * 1000:9.0f} {plain * 1000:9.0f} "
            f"{mine / plain:6.2f} {lean * 1000:9.0f} {mine / lean:6.2f} {queries:8} "
            f"{table * 1000:7.0f}"
        )
        return mine


def fetched(statement: str, values: Any) -> list[Any]:
    """Run a statement on the connection below Django's, and return its rows."""
    from django.db import connection

    assert connection.connection is not None
    with connection.connection.cursor() as cursor:
        return list(cursor.execute(statement, values).fetchall())


def counted(work: Callable[[], object]) -> int:
    """Return how many statements ``work`` sends."""
    from django.db import connection

    sent = 0

    def count(execute: Callable[..., Any], *args: Any) -> Any:
        nonlocal sent
        sent += 1
        return execute(*args)

    with connection.execute_wrapper(count):
        work()
    return sent


def turns(sides: list[Callable[[], object]]) -> list[float]:
    """Return the median seconds of each side; other load meets all alike."""
    times: list[list[float]] = [[] for _ in sides]
    for number in range(ROUNDS):
        for offset in range(len(sides)):
            side = (number + offset) % len(sides)
            begin = time.perf_counter()
            sides[side]()
            times[side].append(time.perf_counter() - begin)
    return [median(each) for each in times]


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else MASONS)

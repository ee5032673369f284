"""How long a project's coverage takes from the database: ``python -m tests.bench.bench_coverage``.

A contractor employs 5,000 masons with 20 records each, of 20 programs; some end, some ask for
confirmations. A project of 365 days has 200 posts with conditions. ``coverage_of`` is timed with
all its queries: the records and their standing, ranges, employment, the matching of every day, the
gaps. The bare baseline of the same run is one SQL query that gives who can fill which post from
when to when, for standards that were judged beforehand, and SciPy's maximum bipartite matching made
from scratch once for each day of a change; it knows no suspension, no confirmation and no reason.
Both must fill as many places on every day, or the program stops. ``one change`` is what it takes
after a record is suspended: to ask for the mason anew and to go on from the coverage kept.
``what would close it`` ranks what everybody on the crew could do about the worst day. Queries are
counted at the full size and at a hundredth of it. On a server without fsync; the best of three.
"""

import os
import sys
import time
from collections.abc import Callable
from datetime import timedelta
from typing import Any, TypeVar

import django

T = TypeVar("T")
MASONS, ROUNDS = 5_000, 3


def main(masons: int) -> None:
    """Print the figures."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    django.setup()
    from django.conf import settings as product
    from django.core.management import call_command
    from django.db import connections

    from tests.bench.crew_rows import fill
    from tests.database import temporary_cluster
    from tests.world import FAST_HASH

    with temporary_cluster() as cluster:
        settings = connections["default"].settings_dict
        settings["ENGINE"] = "config.embedded"
        settings["EMBEDDED"] = {"FOLDER": str(cluster.folder), "DURABLE": False}
        product.PASSWORD_HASHERS = FAST_HASH
        call_command("migrate", verbosity=0)
        few = queries_of(fill(max(masons // 100, 1)))
        start = time.perf_counter()
        project = fill(masons)
        print(f"set up in {time.perf_counter() - start:.0f} s; queries: {few} at a hundredth,")
        print(f"{queries_of(project)} at {masons:,} masons, 20 records each, 200 posts, 365 days")
        report(project)
        connections.close_all()


def queries_of(project: Any) -> int:
    """How many queries a coverage takes."""
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    from certificates.queries.project_coverage import coverage_of

    with CaptureQueriesContext(connection) as captured:
        coverage_of(project)
    return len(captured)


def best(run: Callable[[], T], rounds: int = ROUNDS) -> tuple[float, T]:
    """The seconds of the quickest round, and what the last one gave."""
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        result = run()
        times.append(time.perf_counter() - start)
    return min(times), result


def report(project: Any) -> None:
    """Time the coverage, the bare side, one change and what would close the worst day."""
    from certificates.coverage import Outlook
    from certificates.queries.closers import help_for
    from certificates.queries.project_coverage import able_now, coverage_of
    from certificates.queries.qualified import held_by
    from tests.bench.bench_crew import bare
    from tests.bench.crew_rows import bare_arrays, suspend_one

    ours, found = best(lambda: coverage_of(project))
    asking, _ = best(lambda: held_by(list(found.people)))
    laid, arrays = best(lambda: bare_arrays(found))
    matched, filled = best(lambda: bare(arrays))
    compare(found, arrays.days, filled)
    theirs = laid + matched
    print(f"{len(found.facts.able):,} abilities, {len(found.coverage.spans)} spans,", end=" ")
    print(f"{len(arrays.days)} days of a change")
    print(f"coverage_of {ours:.2f} s, of which {asking:.2f} s ask for the records;", end=" ")
    print(f"bare {theirs:.2f} s ({laid:.2f} s SQL, {matched:.2f} s matching)")
    print(f"ratio {ours / theirs:.2f}")
    kept = Outlook(
        found.coverage.posts,
        found.facts.able,
        first=found.coverage.first,
        last=found.coverage.last,
    )
    person = suspend_one(found)
    changing, _ = best(lambda: kept.change(str(person), able_now(found, person)), 1)
    print(f"one change {changing:.3f} s")
    worst = max(found.coverage.spans, key=lambda span: span.unfilled)
    closing, helped = best(lambda: help_for(found, worst.first), 1)
    print(f"what would close it {closing:.2f} s: {worst.unfilled} places empty,", end=" ")
    print(f"{len(helped.closings):,} single steps")


def compare(found: Any, days: Any, filled: list[int]) -> None:
    """RuntimeError where the bare side fills another number of places."""
    spans = iter(found.coverage.spans)
    span = next(spans)
    for day, number in zip(days, filled, strict=True):
        on = found.coverage.first + timedelta(days=int(day))
        while span.last < on:
            span = next(spans)
        if span.filled != number:
            raise RuntimeError(f"{on}: {span.filled} is not {number}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else MASONS)

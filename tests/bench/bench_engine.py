"""How many attempts the engine decides in a second: ``python -m tests.bench.bench_engine``.

Each round decides many different attempts of one prepared standard, on one core, and compares
with a bare baseline of the same round: reading and writing the same documents as JSON.
Readings lie on a 1/64 in grid, as on a rule, so the caches of the engine are warm as they are in
use. Processor time is measured, and the best of several rounds shown, so that other work on the
machine disturbs least.
"""

from __future__ import annotations

import json
import random
import time
from collections.abc import Callable
from typing import Any

from assessments.engine import decide, load_standard
from tests.engine import builders

ATTEMPTS = 200
ROUNDS = 7


def standard(criteria: int, readings: int) -> dict[str, Any]:
    """A standard of measured criteria in inches, with guard bands, in two outcomes."""
    rows = []
    for i in range(criteria):
        row = builders.measured(
            f"C{i}",
            "1/4",
            f"{24 + i % 7}/64",
            unit="in",
            readings=readings,
            statistic=("each", "mean", "largest", "smallest")[i % 4],
            outcomes={"O1" if i % 2 else "O2": "1"},
            critical=i % 5 == 0,
            decision_rule={"kind": "guard_band", "r": "1/2"},
        )
        row["instrument"] |= {"resolution": "1/64", "maximum_permissible_error": "1/128"}
        rows.append(row)
    return builders.standard(*rows, cut="0.7", band="0.05", guard_band="not_met")


def attempts(criteria: int, readings: int, bad: float) -> list[dict[str, Any]]:
    """Different attempts; a share ``bad`` of the criteria lies outside the limits."""
    pick = random.Random(20260504)
    found = []
    for _ in range(ATTEMPTS):
        rows = []
        for i in range(criteria):
            low, high = (40, 50) if pick.random() < bad else (18, 22)
            values = [f"{pick.randint(low, high)}/64" for _ in range(readings)]
            rows.append(builders.observation(f"C{i}", builders.readings(*values, unit="in")))
        found.append(builders.observations(*rows))
    return found


def best(run: Callable[[dict[str, Any]], object], documents: list[dict[str, Any]]) -> float:
    """The seconds that the quickest round took for one document."""
    times = []
    for _ in range(ROUNDS):
        start = time.process_time()
        for document in documents:
            run(document)
        times.append((time.process_time() - start) / len(documents))
    return min(times)


def row(criteria: int, readings: int, bad: float) -> str:
    """A line of the table."""
    prepared = load_standard(standard(criteria, readings))
    documents = attempts(criteria, readings, bad)
    decided = best(lambda document: decide(prepared, document), documents)
    bare = best(lambda document: json.loads(json.dumps(document)), documents)
    results = [decide(prepared, document)["result"] for document in documents]
    return (
        f"{criteria:>8} {readings:>8} {results.count('met') / len(results):>6.0%} "
        f"{1 / decided:>12,.0f} {decided * 1e6:>9.0f} {bare * 1e6:>9.0f} {decided / bare:>6.1f}"
    )


def main() -> None:
    """Print the table."""
    print(f"{'criteria':>8} {'readings':>8} {'met':>6} {'decisions/s':>12}", end=" ")
    print(f"{'µs each':>9} {'bare µs':>9} {'ratio':>6}")
    for criteria, readings, bad in (
        (14, 5, 0.0),
        (14, 5, 0.1),
        (14, 5, 0.5),
        (7, 5, 0.0),
        (28, 5, 0.0),
        (56, 5, 0.0),
        (14, 1, 0.0),
        (14, 10, 0.0),
        (14, 20, 0.0),
    ):
        print(row(criteria, readings, bad))


if __name__ == "__main__":
    main()

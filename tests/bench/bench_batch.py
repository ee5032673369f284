"""How long receiving batches takes, against bare inserts: ``python -m tests.bench.bench_batch``.

2,000 observations in four batches of 500, as a device sends them after days without a signal:
100 trainees under a standard of 14 criteria, and 600 corrections. Ours reads, judges and stores
each and writes the log, once as the action and once as four requests of JSON. The bare side
inserts the same rows into the same table, with its triggers and constraints, by psycopg alone
in four transactions: with ``executemany``, which sends them in a pipeline, and with an
``execute`` for each row. The server is one of its own, without fsync, which is the same for all.
All take turns; the tables are emptied between. ``python -m tests.bench.bench_batch [ROUNDS]``.
"""

import json
import os
import sys
import time
import uuid
from collections.abc import Callable
from statistics import median
from typing import Any

import django

ROUNDS = 7
TRAINEES, CORRECTIONS, BATCH = 100, 600, 500
COLUMNS = (
    "id", "attempt_id", "subject_kind", "subject_key", "assessor_id", "device", "epoch", "seq",
    "value", "note", "device_time", "device_zone", "received_at", "standard_digest",
    "schema_version", "content_digest", "replaces_id",
)  # fmt: skip
Batches = list[list[dict[str, Any]]]


def main(rounds: int) -> None:
    """Print the medians of all sides in milliseconds, and the ratios."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    django.setup()
    from django.conf import settings as product
    from django.core.management import call_command
    from django.db import connections

    from tests.database import temporary_cluster
    from tests.world import FAST_HASH

    product.PASSWORD_HASHERS = FAST_HASH  # a hundred trainees are made first
    with temporary_cluster() as cluster:
        settings = connections["default"].settings_dict
        settings["ENGINE"] = "config.embedded"
        settings["EMBEDDED"] = {"FOLDER": str(cluster.folder), "DURABLE": False}
        call_command("migrate", verbosity=0)
        _measure(rounds)
        connections.close_all()


def _measure(rounds: int) -> None:
    from django.core.cache import cache
    from django.test import Client

    from assessments.actions.site.batches import receive
    from assessments.actions.site.packs import pack_of, token_of

    device, batches = _scored()
    token = token_of(device.pack)
    pack = pack_of(token)
    client = Client(SERVER_NAME="localhost")

    def action() -> None:
        for batch in batches:
            results = receive(pack, batch)
            if any(each.result != "stored" for each in results):
                raise RuntimeError("not all of it was stored")

    bodies = [json.dumps({"pack": str(pack.pk), "events": batch}) for batch in batches]

    def requests() -> None:
        for body in bodies:
            answer = client.post(
                "/site/events/",
                body,
                content_type="application/json",
                headers={"Authorization": f"Pack {token}"},
            )
            if answer.status_code != 200:
                raise RuntimeError(answer.content)

    action()
    rows = _rows()
    sides = (action, requests, lambda: _bare(rows, many=True), lambda: _bare(rows, many=False))
    times: tuple[list[float], ...] = ([], [], [], [])
    for number in range(rounds):
        for side in (range(4), range(3, -1, -1))[number % 2]:
            _empty()
            cache.clear()
            times[side].append(_seconds(sides[side]))
    ours, served, many, single = (median(each) * 1000 for each in times)
    print(f"rounds                  {rounds}, {len(rows)} rows, batches of {BATCH}")
    print(f"receive                 {ours:8.1f} ms")
    print(f"four requests           {served:8.1f} ms")
    print(f"bare executemany        {many:8.1f} ms")
    print(f"bare execute            {single:8.1f} ms")
    print(f"ratio to executemany    {ours / many:8.2f} action, {served / many:.2f} requests")
    print(f"ratio to execute        {ours / single:8.2f} action, {served / single:.2f} requests")


def _scored() -> tuple[Any, Batches]:
    """Return a device with a pack, and what was scored on it."""
    from tests.assessments.builders import GOOD, make_yard, standard_document
    from tests.assessments.site.builders import take_up
    from tests.factories import enrol, make_organisation, make_person, make_program

    kinds = standard_document(make_program(make_organisation()))["criteria"]
    criteria = [{**kinds[n % 5], "key": f"C{n + 1}"} for n in range(14)]
    yard = make_yard(criteria=criteria)
    for _ in range(TRAINEES - 1):
        enrol(yard.run, make_person())
    device = take_up(yard)
    model = device.event("C1", GOOD["C1"])
    device.seq = 0
    events: list[dict[str, Any]] = []
    for attempt in yard.run.enrolments.values_list("attempts", flat=True):
        for n, criterion in enumerate(criteria):
            value = GOOD[f"C{n % 5 + 1}"]
            subject = {"kind": "criterion", "key": criterion["key"]}
            events.append({**model, "attempt": str(attempt), "subject": subject, "value": value})
    events += [{**first, "note": "Seen again"} for first in events[:CORRECTIONS]]
    for number, event in enumerate(events):
        event |= {"id": str(uuid.uuid4()), "seq": number + 1}
    for first, again in zip(events, events[-CORRECTIONS:], strict=False):
        again["replaces"] = first["id"]
    return device, [events[at : at + BATCH] for at in range(0, len(events), BATCH)]


def _rows() -> list[tuple[Any, ...]]:
    """Return what ours stored, in order."""
    from assessments.models import Observation

    return list(Observation.objects.order_by("seq").values_list(*COLUMNS))


def _bare(rows: list[tuple[Any, ...]], *, many: bool) -> None:
    from django.db import connection
    from psycopg.types.json import Jsonb

    marks = ", ".join(["%s"] * len(COLUMNS))
    sql = f"INSERT INTO assessments_observation ({', '.join(COLUMNS)}) VALUES ({marks})"
    value = COLUMNS.index("value")
    raw = connection.connection
    for at in range(0, len(rows), BATCH):
        batch = [
            (*row[:value], Jsonb(row[value]), *row[value + 1 :]) for row in rows[at : at + BATCH]
        ]
        with raw.transaction(), raw.cursor() as cursor:
            if many:
                cursor.executemany(sql, batch)
                continue
            for row in batch:
                cursor.execute(sql, row)


def _empty() -> None:
    from django.db import connection

    from tests.triggers import guarded_tables, lifted

    with lifted(*guarded_tables()), connection.cursor() as cursor:
        cursor.execute("TRUNCATE assessments_observation CASCADE")


def _seconds(work: Callable[[], None]) -> float:
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else ROUNDS)

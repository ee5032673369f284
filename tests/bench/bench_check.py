"""How long the public check takes with few records and with many: page, JSON and two bare views.

Run ``python -m tests.bench.bench_check [REQUESTS]``. Twenty records are issued for real and asked
for in turn; the register is then filled up to 100 and to 100,000 rows, each with an attempt and a
decision of its own, all with empty documents and no file. Every look at a record verifies the
stored file anew. The bare views pass the same middleware: one reads the record's row and says a
line; the other also reads the file and asks pyHanko whether its signature is valid, which is what
any check must do. All take turns, in one process, on a server without fsync. Printed are medians,
95th percentiles, their ratios to the bare views, and the number of queries.
"""

import os
import sys
import time
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from statistics import median, quantiles
from tempfile import TemporaryDirectory
from typing import Any

import django

REQUESTS = 300
ISSUED = 20
SIZES = (100, 100_000)
AIM = 2.5


def main(requests: int) -> None:
    """Print the figures for each size of the register."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    django.setup()
    from django.conf import settings as product
    from django.core.management import call_command
    from django.db import connections

    from tests.database import temporary_cluster
    from tests.world import FAST_HASH

    with temporary_cluster() as cluster, TemporaryDirectory() as folder:
        settings = connections["default"].settings_dict
        settings["ENGINE"] = "config.embedded"
        settings["EMBEDDED"] = {"FOLDER": str(cluster.folder), "DURABLE": False}
        product.PASSWORD_HASHERS = FAST_HASH
        product.MEDIA_ROOT = str(Path(folder) / "files")
        product.KEY_FOLDER = Path(folder) / "keys"
        product.STATIC_ROOT = Path(folder) / "static"
        product.STATIC_ROOT.mkdir()
        # Pages are served without collecting static files first.
        product.STORAGES["staticfiles"]["BACKEND"] = (
            "django.contrib.staticfiles.storage.StaticFilesStorage"
        )
        call_command("migrate", verbosity=0)
        numbers = _issue()
        sides = _sides(numbers)
        for size in SIZES:
            _fill(size)
            _report(size, sides, requests)
        connections.close_all()


def _issue() -> list[str]:
    """Issue the records that are asked for; return their numbers."""
    from assessments.actions.attempts import start_attempt
    from certificates.actions.issue import issue_record
    from tests.assessments.builders import make_yard
    from tests.certificates.builders import decide_attempt
    from tests.factories import enrol, make_person

    yard = make_yard()
    numbers = []
    for _ in range(ISSUED):
        enrolment = enrol(yard.run, make_person())
        attempt = start_attempt(actor=yard.instructor, enrolment=enrolment)
        decision = decide_attempt(attempt, yard.instructor)
        numbers.append(issue_record(actor=yard.lead, decision=decision).number)
    return numbers


def _fill(size: int) -> None:
    """Add rows until the register holds ``size`` records."""
    from django.db import connection

    from assessments.models import Attempt, Decision
    from certificates.models import Record
    from tests.triggers import lifted

    there = Record.objects.count()
    model = Record.objects.order_by("serial").first()
    if model is None:
        raise RuntimeError("no record was issued")
    span = (there + 1, size)
    with lifted(*(each._meta.db_table for each in (Attempt, Decision, Record))):
        attempt = {"id": "md5('attempt' || n)::uuid", "number": "1000 + n"}
        _copy(Attempt, model.decision.attempt_id, span, attempt)
        decision = {
            "id": "md5('decision' || n)::uuid",
            "attempt_id": attempt["id"],
            "document": "'{}'::jsonb",
            "observations": "'{}'::jsonb",
        }
        _copy(Decision, model.decision_id, span, decision)
        _copy(Record, model.pk, span, _record(decision["id"]))
        connection.check_constraints()
    with connection.cursor() as cursor:
        cursor.execute("VACUUM ANALYZE")
    if Record.objects.count() != size:
        raise RuntimeError("the register was not filled")


def _record(decision: str) -> dict[str, str]:
    """What differs from record to record, in SQL of its running number ``n``."""
    blocks = (f"substr(upper(md5('number' || n)), {at}, 4)" for at in (1, 5, 9, 13))
    return {
        "id": "md5('record' || n)::uuid",
        "decision_id": decision,
        "serial": "n",
        "number": " || '-' || ".join(blocks),
        "document": "'{}'::jsonb",
        "pdf_sha256": "encode(sha256(('pdf' || n)::bytea), 'hex')",
        "competency_sha256": "encode(sha256(('competency' || n)::bytea), 'hex')",
    }


def _copy(model: Any, pk: Any, span: tuple[int, int], changes: dict[str, str]) -> None:
    """Insert a copy of a row for each ``n`` of the span; ``changes`` are SQL by column."""
    from django.db import connection

    columns = [field.column for field in model._meta.local_concrete_fields]
    table = connection.ops.quote_name(model._meta.db_table)
    with connection.cursor() as cursor:
        cursor.execute(
            f"INSERT INTO {table} ({', '.join(columns)}) "
            f"SELECT {', '.join(changes.get(column, f't.{column}') for column in columns)} "
            f"FROM {table} t, generate_series(%s, %s) n WHERE t.id = %s",
            [*span, pk],
        )


def _sides(numbers: list[str]) -> dict[str, Callable[[int], None]]:
    """The four kinds of requests, each by the turn that it is made in."""
    from django.test import Client
    from django.urls import include, path

    from config import urls

    bare = [
        path("<str:number>/row/", _bare_view(file=False)),
        path("<str:number>/file/", _bare_view(file=True)),
    ]
    urls.urlpatterns.append(path("bare/", include(bare)))
    client = Client(SERVER_NAME="localhost")

    def side(address: str, said: bytes) -> Callable[[int], None]:
        def ask(turn: int) -> None:
            response = client.get(address.format(numbers[turn % len(numbers)]))
            if response.status_code != 200 or said not in response.content:
                raise RuntimeError(f"{address}: {response.status_code}")

        return ask

    return {
        "page": side("/check/{}/", b"This record is genuine"),
        "JSON": side("/check/{}/record.json", b'"genuine": true'),
        "bare row": side("/bare/{}/row/", b"bare"),
        "bare file": side("/bare/{}/file/", b"bare"),
    }


def _bare_view(*, file: bool) -> Callable[..., Any]:
    from django.contrib.auth.decorators import login_not_required
    from django.http import HttpRequest, HttpResponse

    from certificates.keys import keystore_of
    from certificates.models import Record

    trusted: list[Any] = []

    @login_not_required
    def view(request: HttpRequest, number: str) -> HttpResponse:
        record = Record.objects.get(number=number)
        if file:
            if not trusted:
                trusted.extend(_certificates(keystore_of(record.provider).roots_pem()))
            with record.pdf.open() as stored:
                _bare_validation(stored.read(), trusted)
        return HttpResponse(f"bare {record.number}")

    return view


def _certificates(pem: bytes) -> list[Any]:
    from pyhanko.keys import load_certs_from_pemder_data

    return list(load_certs_from_pemder_data(pem))


def _bare_validation(pdf: bytes, trusted: list[Any]) -> None:
    from pyhanko.pdf_utils.reader import PdfFileReader
    from pyhanko.sign.validation import validate_pdf_signature
    from pyhanko_certvalidator import ValidationContext

    context = ValidationContext(trust_roots=trusted, allow_fetching=False)
    signature = PdfFileReader(BytesIO(pdf)).embedded_signatures[0]
    if not validate_pdf_signature(signature, context).valid:
        raise RuntimeError("the signature does not pass")


def _report(size: int, sides: dict[str, Callable[[int], None]], requests: int) -> None:
    queries = {name: _queries(ask) for name, ask in sides.items()}
    times: dict[str, list[float]] = {name: [] for name in sides}
    for turn in range(requests):
        names = list(sides) if turn % 2 else list(sides)[::-1]
        for name in names:
            begin = time.perf_counter()
            sides[name](turn)
            times[name].append((time.perf_counter() - begin) * 1000)
    last = {name: quantiles(found, n=20)[-1] for name, found in times.items()}
    print(f"records {size:,}, {requests} requests each")
    for name, found in times.items():
        ratios = ", ".join(
            f"p95 {last[name] / last[bare]:.2f} times {bare}" for bare in ("bare row", "bare file")
        )
        print(
            f"  {name:<10} median {median(found):6.2f} ms, p95 {last[name]:6.2f} ms, "
            f"{queries[name]} queries; {ratios}"
        )
    print(f"  aim: p95 at most {AIM} times a bare view, the same queries at every size")


def _queries(ask: Callable[[int], None]) -> int:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    ask(0)
    with CaptureQueriesContext(connection) as captured:
        ask(1)
    return len(captured)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else REQUESTS)

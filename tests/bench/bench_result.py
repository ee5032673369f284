"""The page of a result against a bare view: time, queries and weight.

Run ``python -m tests.bench.bench_result [CRITERIA]``. The trainee opens the page of an attempt
with so many criteria, each scored by two assessors; a quarter is measured, with four readings.
The bare view stands behind the same sign-in and middleware, fetches the same attempt, decision
and standard, and shows the engine's sentences as a plain list in the same frame, so that the
ratio tells what layout, number lines, photographs, history and what follows add. Both take turns;
p95 of each. Queries are counted at one attempt of one trainee, and again with two more attempts
and two more trainees. The weight is that of the page alone, as sent and squeezed, without
photographs.
"""

import gzip
import sys
import tempfile
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from tests.bench.bench_jobs import database

CRITERIA = 24
ROUNDS = 80
FRAME = (
    "{% extends 'base.html' %}{% block heading %}Bare{% endblock %}"
    "{% block content %}<ul>{% for each in sentences %}<li>{{ each }}</li>{% endfor %}</ul>"
    "{% endblock %}"
)


def main(criteria: int) -> None:
    """Print a line for each side, the ratio, the queries and the weight."""
    from django.core.management import call_command

    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as name:
        folder = Path(name)
        folder.chmod(0o711)  # the account of the database server passes
        with database(folder / "data"):
            call_command("collectstatic", verbosity=0, interactive=False)
            _measure(criteria)


def _measure(criteria: int) -> None:
    from django.test import Client
    from django.urls import path, reverse

    from config import urls
    from tests.bench.bench_register import counted

    yard = _yard(criteria)
    attempt = _decided(yard)
    urls.urlpatterns.append(path("bare/<uuid:pk>/", _bare, name="bare"))  # type: ignore[arg-type]
    client = Client(headers={"host": "localhost"})
    client.force_login(yard.trainee)
    last: list[Any] = [None]

    def visit(address: str) -> Callable[[], None]:
        def ask() -> None:
            last[0] = client.get(address)
            assert last[0].status_code == 200, last[0].status_code

        return ask

    page, bare = visit(reverse("attempt", args=[attempt.pk])), visit(f"/bare/{attempt.pk}/")
    for _ in range(5):
        page(), bare()
    queries = [counted(page)]
    _more(yard)
    queries.append(counted(page))
    body = last[0].content
    times: tuple[list[float], list[float]] = ([], [])
    for number in range(ROUNDS):
        for side in ((0, 1), (1, 0))[number % 2]:
            begin = time.perf_counter()
            (page, bare)[side]()
            times[side].append(time.perf_counter() - begin)
    ours, plain = (_p95(each) for each in times)
    print(f"criteria {criteria}, {ROUNDS} rounds")
    print(f"page     p95 {ours * 1000:7.1f} ms   queries {queries[0]}, then {queries[1]}")
    print(f"bare     p95 {plain * 1000:7.1f} ms   queries {counted(bare)}")
    print(f"ratio        {ours / plain:7.2f}      aim at most 2.5")
    print(
        f"weight       {len(body) / 1000:7.1f} kB, {len(gzip.compress(body)) / 1000:.1f} kB "
        "squeezed   aim at most 150 kB"
    )


def _p95(times: list[float]) -> float:
    return sorted(times)[int(len(times) * 0.95)]


def _bare(request: Any, pk: Any) -> Any:
    from django.http import HttpResponse
    from django.template import RequestContext, Template

    from assessments.models import Decision

    decision = Decision.objects.select_related(
        "attempt__standard",
        "attempt__enrolment__run__program",
        "attempt__enrolment__run__site",
        "attempt__enrolment__person",
    ).get(attempt=pk, attempt__enrolment__person=request.user)
    document = decision.document
    sentences = [
        *document["reasons"],
        *(row["sentence"] for row in document["criteria"]),
        *(each["sentence"] for row in document["criteria"] for each in row["assessors"]),
        *(row["sentence"] for row in document["trace"]),
    ]
    return HttpResponse(Template(FRAME).render(RequestContext(request, {"sentences": sentences})))


def _yard(criteria: int) -> Any:
    from tests.assessments.builders import make_yard, standard_document
    from tests.factories import make_organisation, make_program

    made = standard_document(make_program(make_organisation()))["criteria"]
    many = [
        {**each, "key": f"C{number + 1}", "title": f"{each['title']}, place {number // 4 + 1}"}
        for number in range(criteria)
        for each in [made[:4][number % 4]]
    ]
    for each in many:
        if each["kind"] == "measured":
            each["readings"] = 4
    return make_yard(criteria=many)


def _decided(yard: Any) -> Any:
    from assessments.actions.decisions import sign_off
    from assessments.actions.observations import record_observation
    from tests.assessments.builders import event, readings

    values: dict[str, Mapping[str, object]] = {
        "rated": {"level": 0},
        "measured": readings(*[("1/8", "1/8", "in")] * 3, ("5/32", "5/32", "in")),
        "checked": {"answer": False},
        "counted": {"count": 1},
    }
    attempt = yard.attempt()
    for assessor in (yard.instructor, yard.lead):
        hold = event(attempt, "fit", {"accepted": True}, kind="hold_point")
        record_observation(actor=assessor, event=hold)
        for row in yard.standard.document["criteria"]:
            seen = event(attempt, row["key"], values[row["kind"]], note="Seen in the shade.")
            record_observation(actor=assessor, event=seen)
    sign_off(actor=yard.instructor, attempt=attempt, password_checked=True)
    return attempt


def _more(yard: Any) -> None:
    """Two more trainees with a result each; two more attempts of this one, decided."""
    from tests.assessments.builders import Yard
    from tests.factories import enrol, make_person

    for _ in range(2):
        other = make_person()
        _decided(Yard(**{**vars(yard), "trainee": other, "enrolment": enrol(yard.run, other)}))
        _decided(yard)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else CRITERIA)

"""The page of a run's progress against a bare view: time, queries and weight.

Run ``python -m tests.bench.bench_cohort [TRAINEES]``. Each trainee has made four practice pieces,
scored on every criterion, and one attempt that did not meet the standard. The bare view stands
behind the same sign-in and middleware, fetches the same rows and shows the trainees as a plain
list in the same frame, so that the ratio tells what shares, drawings, needs and layout add. Both
take turns; p95 of each. Queries are counted at one trainee and at all of them.
"""

import gzip
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

from tests.bench.bench_jobs import database

TRAINEES = 12
PIECES = 4
ROUNDS = 60
OUTCOMES = 4
FRAME = (
    "{% extends 'base.html' %}{% block heading %}Bare{% endblock %}"
    "{% block content %}<ul>{% for each in rows %}<li>{{ each.0 }}: {{ each.1 }}</li>{% endfor %}"
    "</ul>{% endblock %}"
)


def main(trainees: int) -> None:
    """Print a line for each side, the ratio, the queries and the weight."""
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as name:
        folder = Path(name)
        folder.chmod(0o711)  # the account of the database server passes
        with database(folder / "data"):
            from django.core.management import call_command

            call_command("collectstatic", verbosity=0, interactive=False)
            _measure(trainees)


def _measure(trainees: int) -> None:
    from django.test import Client
    from django.urls import path, reverse

    from config import urls
    from tests.assessments.progress.builders import decided, piece
    from tests.bench.bench_register import counted
    from tests.factories import enrol, make_person

    yard = _yard()
    patterns: list[Any] = urls.urlpatterns
    patterns.append(path("bare/<uuid:pk>/", _bare, name="bare"))
    client = Client(headers={"host": "localhost"})
    client.force_login(yard.instructor, backend="django.contrib.auth.backends.ModelBackend")
    last: list[Any] = [None]

    def visit(address: str) -> Callable[[], None]:
        def ask() -> None:
            last[0] = client.get(address)
            assert last[0].status_code == 200, last[0].status_code

        return ask

    def fill(enrolment: Any) -> None:
        for number in range(PIECES):
            day = yard.run.starts_on + timedelta(days=number % 3)
            piece(yard, day, enrolment, **_values(number))
        decided(yard, enrolment, C3={"answer": False})

    page, bare = visit(reverse("run_progress", args=[yard.run.pk])), visit(f"/bare/{yard.run.pk}/")
    fill(yard.enrolment)
    for _ in range(3):
        page(), bare()
    queries = [counted(page)]
    for _ in range(trainees - 1):
        fill(enrol(yard.run, make_person()))
    for _ in range(3):
        page(), bare()
    queries.append(counted(page))
    body = last[0].content
    times: tuple[list[float], list[float]] = ([], [])
    for number in range(ROUNDS):
        for side in ((0, 1), (1, 0))[number % 2]:
            begin = time.perf_counter()
            (page, bare)[side]()
            times[side].append(time.perf_counter() - begin)
    ours, plain = (sorted(each)[int(len(each) * 0.95)] for each in times)
    half, plain_half = (sorted(each)[len(each) // 2] for each in times)
    print(f"trainees {trainees}, {PIECES} pieces and an attempt each, {ROUNDS} rounds")
    print(f"page     p95 {ours * 1000:7.1f} ms   queries {queries[0]}, then {queries[1]}")
    print(f"bare     p95 {plain * 1000:7.1f} ms   queries {counted(bare)}")
    print(f"ratio        {ours / plain:7.2f}      of the medians {half / plain_half:.2f}; aim 2.5")
    print(
        f"weight       {len(body) / 1000:7.1f} kB, {len(gzip.compress(body)) / 1000:.1f} kB "
        "squeezed   aim at most 150 kB"
    )


def _values(number: int) -> dict[str, dict[str, object]]:
    """Return a score for every criterion, better from piece to piece."""
    from tests.assessments.builders import GOOD

    return {**GOOD, "C1": {"level": min(number, 2)}, "C4": {"count": PIECES - number}}


def _bare(request: Any, pk: Any) -> Any:
    from django.http import HttpResponse
    from django.template import RequestContext, Template

    from assessments.models import Decision, PracticeScore, SealedStandard
    from training.models import CourseRun

    run = CourseRun.objects.select_related("program", "site").get(pk=pk, instructors=request.user)
    standard = SealedStandard.objects.filter(program=run.program_id).order_by("-serial")[0]
    seen: dict[Any, int] = {}
    for enrolment, criteria in Decision.objects.filter(attempt__enrolment__run=run).values_list(
        "attempt__enrolment", "document__criteria"
    ):
        seen[enrolment] = len(criteria)
    for enrolment, _ in PracticeScore.objects.filter(piece__enrolment__run=run).values_list(
        "piece__enrolment", "value"
    ):
        seen[enrolment] = seen.get(enrolment, 0) + 1
    rows = [
        (each.person, seen.get(each.pk, 0) / len(standard.document["criteria"]))
        for each in run.enrolments.select_related("person")
    ]
    return HttpResponse(Template(FRAME).render(RequestContext(request, {"rows": rows})))


def _yard() -> Any:
    from tests.assessments.builders import standard_document
    from tests.assessments.progress.builders import practice_yard
    from tests.factories import make_organisation, make_program

    document = standard_document(make_program(make_organisation()))
    keys = [f"O{number + 1}" for number in range(OUTCOMES)]
    outcomes = [{"key": key, "statement": f"Sets {key}", "minimum": "0.5"} for key in keys]
    criteria = [
        {**each, "outcomes": {keys[place % OUTCOMES]: "1", keys[(place + 1) % OUTCOMES]: "1"}}
        for place, each in enumerate(document["criteria"])
    ]
    return practice_yard(outcomes=outcomes, criteria=criteria)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else TRAINEES)

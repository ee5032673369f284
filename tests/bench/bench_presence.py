"""How long signing in takes for 200 people in a minute: ``python -m tests.bench.bench_presence``.

The product as it is served (tests/bench/served.py: gunicorn, two workers of four threads, a
durable database). Each of 200 trainees, with a session of their own, presses "I am here" at a
moment drawn evenly over a minute (a fixed seed), without waiting for the others. Measured is from
the moment it was due to the end of the answer, so that a queue counts. The bare side is the same
minute of ``/healthz``, a view that asks the database ``SELECT 1`` and nothing else. Told are p50,
p95 and the worst in milliseconds, the ratio of the two p95, and that each is noted once.
``python -m tests.bench.bench_presence [SECONDS]`` spreads the presses over another time.
"""

import http.client
import random
import sys
import threading
import time
from collections.abc import Callable
from datetime import timedelta
from urllib.parse import urlencode, urlsplit

from tests.bench.served import served

PEOPLE = 200
SECONDS = 60.0
SEED = 20261103


def main(seconds: float) -> None:
    """Print what both sides took, and the ratio."""
    with served() as address:
        server = urlsplit(address).netloc
        token, cookies = _prepared()
        bare = _minute(seconds, [_asking(server, "/healthz", None, 200)] * PEOPLE)
        path = f"/presence/{token}/"
        ours = _minute(seconds, [_asking(server, path, each, 302) for each in cookies])
        _check()
        print(f"{PEOPLE} people in {seconds:g} s; milliseconds p50, p95, worst")
        for name, taken in (("bare view", bare), ("sign-in", ours)):
            print(f"{name:10} {_at(taken, 0.5):8.1f} {_at(taken, 0.95):8.1f} {taken[-1]:8.1f}")
        print(f"ratio of p95: {_at(ours, 0.95) / _at(bare, 0.95):.1f}")


def _prepared() -> tuple[str, list[tuple[str, str]]]:
    """Make the run, its people and the code; return its token, and (session, CSRF) cookies."""
    from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
    from django.contrib.sessions.backends.db import SessionStore
    from django.middleware.csrf import _get_new_csrf_string
    from django.utils import timezone

    from tests.factories import enrol, make_organisation, make_program, make_role, make_run
    from training.actions.attendance_code import current_code
    from training.models import Person, Session, SignInCode

    provider = make_organisation()
    teacher = make_role("instructor", provider)
    run = make_run(make_program(provider), instructors=(teacher,))
    now = timezone.now()
    session = Session.objects.create(
        run=run, title="Raking out", starts_at=now, ends_at=now + timedelta(hours=4)
    )
    cookies = []
    for number in range(PEOPLE):
        person = Person(email=f"hand{number}@example.org", full_name=f"Hand {number}")
        person.set_unusable_password()
        person.save()
        enrol(run, person)
        store = SessionStore()
        store[SESSION_KEY] = str(person.pk)
        store[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
        store[HASH_SESSION_KEY] = person.get_session_auth_hash()
        store.create()
        cookies.append((str(store.session_key), _get_new_csrf_string()))
    code = current_code(actor=teacher, session=session)
    # Longer than the measurement, whatever the time over which the presses are spread.
    SignInCode.objects.update(valid_until=now + timedelta(hours=4))
    return code.token, cookies


def _asking(
    server: str, path: str, cookies: tuple[str, str] | None, expected: int
) -> Callable[[], None]:
    """Return what asks once: a POST with cookies, or a GET without."""

    def ask() -> None:
        connection = http.client.HTTPConnection(server, timeout=60)
        if cookies is None:
            connection.request("GET", path)
        else:
            session, csrf = cookies
            body = urlencode({"kind": "came", "csrfmiddlewaretoken": csrf})
            headers = {
                "Content-Type": "application/x-www-form-urlencoded",
                "Cookie": f"sessionid={session}; csrftoken={csrf}",
            }
            connection.request("POST", path, body, headers)
        answer = connection.getresponse()
        answer.read()
        connection.close()
        if answer.status != expected:
            raise RuntimeError(f"{path}: status {answer.status}")

    return ask


def _minute(seconds: float, asks: list[Callable[[], None]]) -> list[float]:
    """Start each at its moment; return the milliseconds that they took, sorted."""
    draw = random.Random(SEED)
    begin = time.monotonic() + 1
    taken: list[float] = []

    def one(ask: Callable[[], None], due: float) -> None:
        time.sleep(max(0.0, due - time.monotonic()))
        ask()
        taken.append((time.monotonic() - due) * 1000)

    threads = [
        threading.Thread(target=one, args=(ask, begin + draw.uniform(0, seconds))) for ask in asks
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    if len(taken) != len(asks):
        raise RuntimeError(f"{len(asks) - len(taken)} were not answered")
    return sorted(taken)


def _check() -> None:
    """Everybody is noted once, and the log holds."""
    from training.actions.log import verify_log
    from training.models import Attendance

    if Attendance.objects.count() != PEOPLE or verify_log() is not None:
        raise RuntimeError("not everybody is noted once")


def _at(taken: list[float], share: float) -> float:
    return taken[min(len(taken) - 1, round(share * len(taken)) - 1)]


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else SECONDS)

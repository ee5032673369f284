"""Two people at the same program in the same moment."""

from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Any

import pytest
from django.db import connection, transaction

from assessments.actions.programs import load_program
from assessments.actions.sealing import seal_standard
from assessments.models import SealedStandard
from assessments.programfile.faults import ProgramFileError
from tests.assessments.programfile.sources import SMALL, changed
from tests.factories import make_organisation, make_program, make_role
from training.models import Program

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.faults]


@pytest.fixture
def beside() -> Iterator[Callable[..., Future[Any]]]:
    """Run a function in a thread with a connection of its own."""

    def work(function: Callable[..., Any], kwargs: dict[str, Any]) -> Any:
        try:
            return function(**kwargs)
        finally:
            connection.close()

    with ThreadPoolExecutor(1) as pool:
        yield lambda function, **kwargs: pool.submit(work, function, kwargs)


def wait_until_it_waits(future: Future[Any]) -> None:
    """Return as soon as the other connection waits for a lock of this one."""
    waiting = 0
    while not waiting and not future.done():
        with connection.cursor() as cursor:
            cursor.execute(
                "SELECT count(*) FROM pg_locks WHERE NOT granted"
                " AND pg_backend_pid() = ANY (pg_blocking_pids(pid))"
            )
            (waiting,) = cursor.fetchone()
    assert waiting == 1


def test_the_same_new_version_loaded_twice_is_kept_once(
    beside: Callable[..., Future[Any]],
) -> None:
    provider = make_organisation()
    lead = make_role("lead", provider)
    with transaction.atomic():
        make_program(provider, code="SILL")
        other = beside(load_program, actor=lead, provider=provider, source=SMALL, filename="s.yaml")
        wait_until_it_waits(other)
    with pytest.raises(ProgramFileError, match="somebody else loaded this version just now"):
        other.result()
    assert Program.objects.count() == 1


def test_what_is_being_sealed_is_not_replaced_meanwhile(
    beside: Callable[..., Future[Any]],
) -> None:
    provider = make_organisation()
    lead = make_role("lead", provider)
    program = load_program(actor=lead, provider=provider, source=SMALL, filename="s.yaml")
    with transaction.atomic():
        seal_standard(actor=lead, program=program)
        source = changed(("title: Sill repair", "title: Other"))
        other = beside(
            load_program, actor=lead, provider=provider, source=source, filename="s.yaml"
        )
        wait_until_it_waits(other)
    with pytest.raises(ProgramFileError, match="is sealed and cannot change any more"):
        other.result()
    assert Program.objects.get().title == "Sill repair"
    assert SealedStandard.objects.count() == 1

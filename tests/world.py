"""The demo's scenario in the test database, told once for a module and rolled back after it."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.db import transaction
from django.test import override_settings

from certificates.demo.crew import finish_projects
from certificates.demo.story import issue_missing, read_scenario, tell
from tests.plain import plain_drawings, plain_records

FAST_HASH = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@contextmanager
def told(
    folder: Path, *, projects: bool = False, courses: bool = False, only: str = ""
) -> Iterator[None]:
    """Run the block with the scenario in the database, its files and keys in ``folder``.

    With ``projects`` the scenario's projects are submitted as well, with ``courses`` its calendar,
    presence and site log are told: each takes some seconds. With ``only``, the key of a trainee,
    nothing but this trainee's attempt is told of what came after the enrolments. Records and
    drawings are plain.
    """
    with override_settings(
        MEDIA_ROOT=folder / "files", KEY_FOLDER=folder / "keys", PASSWORD_HASHERS=FAST_HASH
    ):
        scenario = read_scenario()
        if not courses:
            scenario["courses"] = []
        if only:
            _leave_out_others(scenario, only)
        with plain_records(), plain_drawings():
            tell(scenario, lambda text: None)
            issue_missing(scenario, lambda text: None)
            if projects:
                finish_projects(scenario, lambda text: None)
        yield


def _leave_out_others(scenario: dict[str, Any], only: str) -> None:
    scenario["attempts"] = [each for each in scenario["attempts"] if each["trainee"] == only]
    assert scenario["attempts"], only
    scenario["projects"] = []
    scenario["second_look"] = None
    for program in scenario["programs"]:
        program.pop("calibration", None)


@contextmanager
def rolled_back() -> Iterator[None]:
    """Run the block in a transaction of its own, and undo it."""
    block = transaction.atomic()
    # As in Django's own TestCase: a durable transaction may stand inside this one.
    block._from_testcase = True  # type: ignore[attr-defined]
    with block:
        yield
        transaction.set_rollback(True)

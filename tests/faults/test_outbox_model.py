"""Whatever befalls the devices and the net, no scored fact is lost and none is stored twice.

Hypothesis makes up histories of two devices, two assessors and a net that holds, doubles,
reorders and loses (machine.py); the devices are a model of the outbox's rules (model.py), the
server is the real endpoint on a database that commits. At the end of each history every event
saved on a device is an observation or kept aside on the server, once.

FAULT_SEEDS says how many seeds to run, FAULT_FIRST the first of them. Each
seed makes HISTORIES histories and is printed when it fails.
"""

import os

import pytest
from hypothesis import HealthCheck, seed, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.faults.machine import Scaffold, make_ground
from training.actions.log import verify_log

pytestmark = [pytest.mark.faults, pytest.mark.django_db(transaction=True)]
SAID = "FAULT_SEEDS"
SEEDS = int(os.environ.get(SAID, "1"))
FIRST = int(os.environ.get("FAULT_FIRST", "1"))
BLOCK = 10  # seeds between two emptyings of the database
HISTORIES = 20
STEPS = 40
RULES = settings(
    max_examples=HISTORIES,
    stateful_step_count=STEPS,
    deadline=None,
    database=None,
    suppress_health_check=list(HealthCheck),
)


@pytest.mark.parametrize("first", range(FIRST, FIRST + SEEDS, BLOCK))
def test_nothing_saved_is_lost_or_stored_twice(
    first: int, capsys: pytest.CaptureFixture[str]
) -> None:
    last = min(first + BLOCK, FIRST + SEEDS) - 1
    Scaffold.ground = make_ground()
    for number in range(first, last + 1):
        try:
            run_state_machine_as_test(seed(number)(Scaffold), settings=RULES)
        except BaseException:
            print(f"{SAID}=1 FAULT_FIRST={number} repeats this.")
            raise
    assert verify_log() is None
    if SAID in os.environ:
        with capsys.disabled():
            print(f" seeds {first} to {last}, {HISTORIES} histories each of up to {STEPS} steps")

"""The objects of a second look that ``tests/test_roles.py`` asks each role about."""

from typing import Any

from assessments.models import Attempt
from training.models import Passkey

# Which address takes which of the objects: names by the kind of what they are about.
OF_ATTEMPT: tuple[str, ...] = ()


def second_look_of(attempt: Attempt) -> dict[str, Any]:
    """Return one of everything that may follow the result of ``attempt``."""
    person = attempt.enrolment.person
    return {
        "passkey": Passkey.objects.create(
            person=person, name="Phone", credential_id=b"\x01", public_key=b"\x02"
        ),
    }


def second_look_objects(world: dict[str, Any]) -> dict[str, dict[str, object]]:
    """Return the arguments of the addresses, by name."""
    return {
        **{name: {"pk": world["attempt"].pk} for name in OF_ATTEMPT},
        "sign_in_link": {"token": "no-token"},
        "passkey_remove": {"pk": world["passkey"].pk},
    }

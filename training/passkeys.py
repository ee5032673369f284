"""What W3C Web Authentication asks of the site: options for a browser, and checks of its answer.

W3C Recommendation *Web Authentication Level 2*, sections 7.1 and 7.2, by the package webauthn.
Nothing here reads or writes the database. Sizes are in bytes, times in milliseconds.
"""

import hashlib
import ipaddress
from collections.abc import Callable, Iterable
from typing import Any, TypeVar
from urllib.parse import urlsplit

from django.conf import settings
from webauthn import (
    generate_authentication_options,
    generate_registration_options,
    verify_authentication_response,
    verify_registration_response,
)
from webauthn.authentication.verify_authentication_response import VerifiedAuthentication
from webauthn.helpers import (
    options_to_json_dict,
    parse_authentication_credential_json,
    parse_client_data_json,
    parse_registration_credential_json,
)
from webauthn.helpers.structs import (
    AuthenticationCredential,
    AuthenticatorSelectionCriteria,
    PublicKeyCredentialDescriptor,
    RegistrationCredential,
    ResidentKeyRequirement,
    UserVerificationRequirement,
)
from webauthn.registration.verify_registration_response import VerifiedRegistration

from training.models import Person

# How long a browser may take: a phone may have to be fetched. The challenge lives longer.
PATIENCE = 120_000
# The largest answer read; one with an attestation by a device's maker has about 6,000.
LONGEST_ANSWER = 20_000

T = TypeVar("T")


class WrongAnswerError(ValueError):
    """The answer of a browser does not prove what it should; says why, for the log alone."""


def relying_party() -> str:
    """Return the RP ID: the host name of the site's address."""
    return urlsplit(settings.BASE_URL).hostname or ""


def origin() -> str:
    """Return the origin of the site's address, as a browser writes it."""
    parts = urlsplit(settings.BASE_URL)
    usual = {"http": 80, "https": 443}.get(parts.scheme)
    host = f"[{parts.hostname}]" if ":" in (parts.hostname or "") else parts.hostname
    port = "" if parts.port in (None, usual) else f":{parts.port}"
    return f"{parts.scheme}://{host}{port}"


def passkeys_possible() -> bool:
    """Say whether browsers allow passkeys here: a host with a name, over TLS or on this machine."""
    host = relying_party()
    try:
        ipaddress.ip_address(host)
    except ValueError:
        here = host == "localhost" or host.endswith(".localhost")
        return bool(host) and (here or settings.BASE_URL.startswith("https://"))
    return False


def user_handle(person: Person) -> bytes:
    """Return the 32 bytes by which a device knows the account; they tell nothing of the person.

    They rest on no secret of the site, which may be changed while passkeys are in use.
    """
    return hashlib.sha256(f"passkey/{relying_party()}/{person.pk}".encode()).digest()


def options_to_add(person: Person, held: Iterable[bytes], challenge: bytes) -> dict[str, Any]:
    """Return the options of ``navigator.credentials.create()``; ``held`` are credential ids."""
    return options_to_json_dict(
        generate_registration_options(
            rp_id=relying_party(),
            rp_name="Bankermark",
            user_id=user_handle(person),
            user_name=person.email,
            user_display_name=person.full_name,
            challenge=challenge,
            timeout=PATIENCE,
            # The device keeps the account as well, so that nobody types an address.
            authenticator_selection=AuthenticatorSelectionCriteria(
                resident_key=ResidentKeyRequirement.REQUIRED,
                user_verification=UserVerificationRequirement.REQUIRED,
            ),
            exclude_credentials=[PublicKeyCredentialDescriptor(id=each) for each in held],
        )
    )


def options_to_sign_in(challenge: bytes) -> dict[str, Any]:
    """Return the options of ``navigator.credentials.get()``: any passkey of this site."""
    return options_to_json_dict(
        generate_authentication_options(
            rp_id=relying_party(),
            challenge=challenge,
            timeout=PATIENCE,
            user_verification=UserVerificationRequirement.REQUIRED,
        )
    )


def checked_addition(answer: str, challenge: bytes) -> VerifiedRegistration:
    """Return what a browser's JSON says of a new passkey; raises WrongAnswerError."""

    def check() -> VerifiedRegistration:
        credential: RegistrationCredential = parse_registration_credential_json(_short(answer))
        _need_own_page(credential.response.client_data_json)
        return verify_registration_response(
            credential=credential,
            expected_challenge=challenge,
            expected_rp_id=relying_party(),
            expected_origin=origin(),
            require_user_verification=True,
        )

    return _checked(check)


def read_answer(answer: str) -> AuthenticationCredential:
    """Return a browser's JSON taken apart, nothing of it checked; raises WrongAnswerError."""
    return _checked(lambda: parse_authentication_credential_json(_short(answer)))


def checked_sign_in(
    answer: AuthenticationCredential, challenge: bytes, public_key: bytes
) -> VerifiedAuthentication:
    """Return what a browser's answer proves by ``public_key``; raises WrongAnswerError.

    The sign count is for the caller to compare, once it is known whose signature it is under.
    """

    def check() -> VerifiedAuthentication:
        _need_own_page(answer.response.client_data_json)
        return verify_authentication_response(
            credential=answer,
            expected_challenge=challenge,
            expected_rp_id=relying_party(),
            expected_origin=origin(),
            credential_public_key=public_key,
            credential_current_sign_count=0,
            require_user_verification=True,
        )

    return _checked(check)


def _need_own_page(client_data: bytes) -> None:
    # The package does not look at it; no page here is shown inside another site's.
    if parse_client_data_json(client_data).cross_origin:
        raise WrongAnswerError("It was made on a page inside another site's.")


def _short(answer: str) -> str:
    if len(answer) > LONGEST_ANSWER:
        raise WrongAnswerError(f"It has {len(answer)} characters, more than {LONGEST_ANSWER}.")
    return answer


def _checked(check: Callable[[], T]) -> T:
    try:
        return check()
    except Exception as error:
        # Strangers' bytes: the packages below promise their own errors for some of them only.
        raise WrongAnswerError(f"{type(error).__name__}: {error}") from error

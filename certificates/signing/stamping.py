"""Time-stamps of an authority (RFC 3161): asked for, checked, and put into the one form."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from typing import Any
from urllib.parse import unquote, urlsplit, urlunsplit

from aiohttp import encode_basic_auth
from asn1crypto import cms
from asn1crypto import x509 as asn1_x509
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from pyhanko.keys import load_certs_from_pemder_data
from pyhanko.sign.timestamps import HTTPTimeStamper
from pyhanko.sign.validation.generic_cms import validate_tst_signed_data
from pyhanko.sign.validation.status import TimestampSignatureStatus
from pyhanko_certvalidator import ValidationContext

from certificates.signing.errors import SigningRefused
from certificates.signing.token import canonical_token

DIGEST = "sha256"
# The clocks of the authority, of the machine that signs and of the one that checks may differ.
CLOCK_ALLOWANCE = timedelta(minutes=10)
PATIENCE = 10  # seconds
PROBE = bytes(32)


class StampRefused(SigningRefused):
    """No usable time-stamp could be had."""


@dataclass(frozen=True)
class Authority:
    """Where time-stamps are asked for, and the roots that vouch for whoever makes them.

    ``url`` may carry a user and a password.
    """

    url: str
    roots: tuple[x509.Certificate, ...]

    @property
    def host(self) -> str:
        """The name of the authority's server, without any password."""
        return urlsplit(self.url).hostname or ""


class Stamper(HTTPTimeStamper):
    """Asks ``authority`` and hands out tokens in the one form; one for each signature.

    ``chain`` (the certificates from the signer to its root) and ``size`` (bytes of a token) are
    known once ``probe`` has run. A token that is not trusted, or whose time is not that of
    ``instant``, is refused.
    """

    def __init__(self, authority: Authority, instant: datetime) -> None:
        parts = urlsplit(authority.url)
        place = parts.netloc.rpartition("@")[2]
        headers = {}
        if parts.username:
            login, password = unquote(parts.username), unquote(parts.password or "")
            headers["Authorization"] = encode_basic_auth(login, password)
        url = urlunsplit(parts._replace(netloc=place))
        super().__init__(url, timeout=PATIENCE, headers=headers)
        self.authority = authority
        self.instant = instant
        self.chain: tuple[asn1_x509.Certificate, ...] = ()
        self.size = 0

    async def probe(self, *, fresh: bool = False) -> None:
        """Learn who signs for the authority; kept for the next record of this process."""
        if fresh or self.authority not in _chains:
            token = await self._ask(PROBE)
            chain = await self._trusted_chain(token, PROBE)
            _chains[self.authority] = chain, len(self._formed(token, chain))
        self.chain, self.size = _chains[self.authority]

    async def async_timestamp(self, message_digest: bytes, md_algorithm: str) -> cms.ContentInfo:
        token = await self._ask(message_digest)
        chain = await self._trusted_chain(token, message_digest)
        if {row.dump() for row in chain} != {row.dump() for row in self.chain}:
            raise OtherSigner("The time-stamp authority has changed its certificate.")
        return cms.ContentInfo.load(self._formed(token, chain), strict=True)

    async def _ask(self, imprint: bytes) -> cms.ContentInfo:
        try:
            token: cms.ContentInfo = await super().async_timestamp(imprint, DIGEST)
        # An answer comes from elsewhere, and the parser below raises many types on odd ones.
        except Exception as error:
            raise StampRefused(
                f"The time-stamp authority {self.authority.host} gave no time-stamp ({error}). "
                "Try again later; if it is gone for good, name another one in "
                "BANKERMARK_TIMESTAMP_URL."
            ) from error
        return token

    async def _trusted_chain(
        self, token: cms.ContentInfo, imprint: bytes
    ) -> tuple[asn1_x509.Certificate, ...]:
        try:
            status = await check_token(token, imprint, self.authority.roots)
        except Exception as error:
            raise StampRefused(self._odd(f"cannot be read: {error}")) from error
        if not (status.intact and status.valid):
            raise StampRefused(self._odd("does not belong to this signature"))
        path = status.validation_path
        if not status.trusted or path is None:
            raise StampRefused(
                self._odd("is not vouched for by a root in BANKERMARK_TIMESTAMP_ROOTS")
            )
        if abs(status.timestamp - self.instant) > CLOCK_ALLOWANCE:
            raise StampRefused(
                f"The time-stamp authority {self.authority.host} says it is "
                f"{status.timestamp:%Y-%m-%d %H:%M %Z}, this server "
                f"{self.instant:%Y-%m-%d %H:%M %Z}: set the clock of this server right."
            )
        return tuple(path)

    def _formed(self, token: cms.ContentInfo, chain: tuple[asn1_x509.Certificate, ...]) -> bytes:
        try:
            return canonical_token(token, chain)
        except ValueError as error:
            raise StampRefused(self._odd(f"cannot be kept: {error}")) from error

    def _odd(self, what: str) -> str:
        return f"The time-stamp of the authority {self.authority.host} {what}."


class OtherSigner(StampRefused):
    """The authority signs with another certificate than a moment ago: begin again."""


_chains: dict[Authority, tuple[tuple[asn1_x509.Certificate, ...], int]] = {}


async def check_token(
    token: cms.ContentInfo, imprint: bytes, roots: tuple[x509.Certificate, ...]
) -> TimestampSignatureStatus:
    """What pyHanko says of a token over the SHA-256 ``imprint``, judged at the time in it."""
    context = ValidationContext(
        trust_roots=[as_asn1(root) for root in roots],
        moment=time_in(token),
        allow_fetching=False,
    )

    def expected(algorithm: str) -> bytes:
        return imprint if algorithm == DIGEST else b""

    found: dict[str, Any] = await validate_tst_signed_data(token["content"], context, expected)
    return TimestampSignatureStatus(**found)


def time_in(token: cms.ContentInfo) -> datetime:
    """The time that a token tells; it is for others to say whether to trust it."""
    told: datetime = token["content"]["encap_content_info"]["content"].parsed["gen_time"].native
    return told


@lru_cache(maxsize=64)
def as_asn1(certificate: x509.Certificate) -> asn1_x509.Certificate:
    """The certificate in pyHanko's form: kept, because the same few roots serve every check."""
    (found,) = load_certs_from_pemder_data(certificate.public_bytes(Encoding.DER))
    return found

"""Counting wrong record numbers, so that nobody tries them by the thousand.

A number has 80 random bits, which is what keeps it from being guessed; the count keeps a
program that tries anyway from costing much. It is held in the database, so every server
process counts together. The network address is the one that failed sign-ins are counted by.
"""

import ipaddress
from datetime import timedelta

from axes.helpers import get_client_ip_address
from django.http import HttpRequest
from django.utils import timezone
from django.utils.crypto import salted_hmac

from certificates.models import WrongNumber

LIMIT = 20
WINDOW = timedelta(minutes=15)
KEPT = timedelta(days=1)
# A household or a firm is given a whole /64 of IPv6 addresses.
IPV6_PREFIX = 64


def too_many_wrong_numbers(request: HttpRequest) -> bool:
    """Say whether this address has used up its wrong numbers for now (one query)."""
    since = timezone.now() - WINDOW
    return WrongNumber.objects.filter(source=source_of(request), at__gt=since).count() >= LIMIT


def count_wrong_number(request: HttpRequest) -> None:
    """Count one look for a record that does not exist, and forget those of the day before."""
    now = timezone.now()
    WrongNumber.objects.filter(at__lt=now - KEPT).delete()
    WrongNumber.objects.create(source=source_of(request), at=now)


def source_of(request: HttpRequest) -> str:
    """Return a keyed digest of the address that the request came from."""
    address = str(get_client_ip_address(request) or "")
    try:
        parsed = ipaddress.ip_address(address)
    except ValueError:
        network = address
    else:
        mapped = getattr(parsed, "ipv4_mapped", None) or parsed
        prefix = IPV6_PREFIX if mapped.version == 6 else 32
        network = str(ipaddress.ip_network((mapped, prefix), strict=False))
    return salted_hmac("certificates.wrong_numbers", network, algorithm="sha256").hexdigest()

"""Counting wrong record numbers, so that nobody tries them by the thousand.

A number has 80 random bits, which is what keeps it from being guessed; the count keeps a
program that tries anyway from costing much. It is held in the database, so every server
process counts together. The network address is the one that failed sign-ins are counted by.
"""

from datetime import timedelta

from django.http import HttpRequest
from django.utils import timezone

from certificates.models import WrongNumber
from training.network import network_digest

LIMIT = 20
WINDOW = timedelta(minutes=15)
KEPT = timedelta(days=1)


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
    return network_digest(request, "certificates.wrong_numbers")

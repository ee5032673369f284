"""Counting files sent to be checked, so that nobody keeps the server busy with them.

Held in the database like wrong numbers (``guesses``), so every server process counts together.
"""

from django.http import HttpRequest
from django.utils import timezone

from certificates.actions.guesses import KEPT, WINDOW, source_of
from certificates.models.guesses import SentFile

# Reading a file costs a second of a processor: more than looking up a number.
LIMIT = 20


def count_sent_file(request: HttpRequest) -> bool:
    """Count one file of this address; False when it sent too many in the last 15 minutes.

    It is counted before it is looked at, so that files sent at the same moment see each other.
    One too many is not kept, so that trying again does not make the wait longer.
    """
    now = timezone.now()
    SentFile.objects.filter(at__lt=now - KEPT).delete()
    source = source_of(request)
    sent = SentFile.objects.create(source=source, at=now)
    if SentFile.objects.filter(source=source, at__gt=now - WINDOW).count() <= LIMIT:
        return True
    sent.delete()
    return False

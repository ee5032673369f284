"""How often a device may send: counted in the database, so by all server processes together.

It holds back a device that sends in a circle; the limits are far above what one needs that works
off a day without a signal.
"""

from django.db import connection
from django.utils import timezone

from assessments.models import Pack, SendingCount

WINDOW = 60  # seconds
# The most requests of one pack in a window, by what they bring.
BATCHES, PHOTOGRAPHS, LOSSES = "batches", "photos", "losses"
MOST = {BATCHES: 60, PHOTOGRAPHS: 120, LOSSES: 20}

# Counting and reading in one statement: two processes never see the same number.
_COUNT = f"""
    INSERT INTO {SendingCount._meta.db_table} AS kept (pack_id, kind, began, number)
    VALUES (%(pack)s, %(kind)s, %(began)s, 1)
    ON CONFLICT (pack_id, kind) DO UPDATE SET
        number = CASE WHEN kept.began < excluded.began THEN 1 ELSE kept.number + 1 END,
        began = GREATEST(kept.began, excluded.began)
    RETURNING number
"""


def seconds_to_wait(pack: Pack, kind: str) -> int:
    """Count a request of ``kind`` (a key of MOST); return 0, or how long to wait after too many."""
    now = int(timezone.now().timestamp())
    with connection.cursor() as cursor:
        cursor.execute(_COUNT, {"pack": pack.pk, "kind": kind, "began": now - now % WINDOW})
        (number,) = cursor.fetchone()
    return 0 if number <= MOST[kind] else WINDOW - now % WINDOW

"""How the evidence on a standard stands: its reports, and what was decided since."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils import timezone

from assessments.models import Decision, EvidenceReport, SealedStandard

# So many new decisions, or one and a year: then it is time to look at the figures again.
NEW_DECISIONS = 5
LOOK_AGAIN_AFTER = timedelta(days=365)


@dataclass(frozen=True)
class Standing:
    """The reports on a standard from the newest (without their documents), and what is new.

    ``new`` counts the attempts decided since the newest report, or all of them before the
    first; ``since`` is the moment from which they are counted, None when nothing is decided.
    """

    reports: list[EvidenceReport]
    new: int
    since: datetime | None

    @property
    def newest(self) -> EvidenceReport | None:
        """The report that counts now."""
        return self.reports[0] if self.reports else None

    @property
    def due(self) -> bool:
        """Whether the figures should be looked at again."""
        return is_due(self.new, self.since)


def is_due(new: int, since: datetime | None) -> bool:
    """Say whether it is time for a report: enough is new, or something is and a year passed."""
    if new == 0 or since is None:
        return False
    return new >= NEW_DECISIONS or since <= timezone.now() - LOOK_AGAIN_AFTER


def standing_of(standard: SealedStandard) -> Standing:
    """Return the reports on ``standard`` and how many attempts were decided since (two queries)."""
    reports = list(standard.evidence_reports.select_related("made_by").defer("document"))
    decided = Decision.objects.filter(attempt__standard=standard, replaces__isnull=True)
    if reports:
        decided = decided.filter(decided_at__gt=reports[0].made_at)
    moments = list(decided.order_by("decided_at").values_list("decided_at", flat=True))
    since = reports[0].made_at if reports else next(iter(moments), None)
    return Standing(reports, len(moments), since)

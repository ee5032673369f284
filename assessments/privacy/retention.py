"""What of this app is over when."""

from datetime import datetime

from assessments.models import SendingCount
from training.privacy.retention import Over, deleted, retention_rule


@retention_rule("sending_counts")
def counts(before: datetime, only_look: bool) -> Over:
    """Counts of what devices sent; they begin at whole seconds since 1970."""
    return deleted(SendingCount.objects.filter(began__lt=int(before.timestamp())), only_look)

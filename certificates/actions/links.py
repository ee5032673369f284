"""Links by which an owner without an account looks at a project's submittals."""

import ipaddress
import secrets
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from axes.helpers import get_client_ip_address
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.http import HttpRequest
from django.utils import timezone
from django.utils.text import format_lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l
from django.utils.translation import gettext_noop as N_

from certificates.models import LinkOpening, Project, ShareLink, Submittal
from certificates.queries.crew_scope import projects_kept_by
from training.actions.log import write_log
from training.digests import secret_digest
from training.errors import Refused
from training.models import Person

TOKEN_BYTES = 32
DAYS = 90
FEWEST_DAYS, MOST_DAYS = 1, 730
LONGEST_RECIPIENT = 200
LONGEST_AGENT = 200
# Enough to see that somebody else opened it, too little to tell a household.
PREFIXES = {4: 24, 6: 48}
HEAD = "Head only: "
HEAD_ONCE = timedelta(minutes=10)
What = LinkOpening.What

NO_RECIPIENT = N_("Write whom the link is for: a name, an office or an e-mail address.")
LONG_RECIPIENT = format_lazy(_l("Write {number} characters at most."), number=LONGEST_RECIPIENT)
WRONG_DAYS = format_lazy(
    _l("Write a whole number of days from {first} to {last}."), first=FEWEST_DAYS, last=MOST_DAYS
)


def make_link(
    *, actor: Person, project: Project, recipient: str, days: int = DAYS
) -> tuple[ShareLink, str]:
    """Make a link for ``recipient`` and return it with its secret, which is kept nowhere.

    It is in force today and for ``days`` days more, to the end of the last one in the project's
    time zone. Raises PermissionDenied for anybody but a manager of the contractor; Refused.
    """
    _need_keeper(actor, project)
    recipient = " ".join(recipient.split())
    if not recipient:
        raise Refused(_(NO_RECIPIENT), field="recipient")
    if len(recipient) > LONGEST_RECIPIENT:
        raise Refused(str(LONG_RECIPIENT), field="recipient")
    if not FEWEST_DAYS <= days <= MOST_DAYS:
        raise Refused(str(WRONG_DAYS), field="days")
    token = secrets.token_urlsafe(TOKEN_BYTES)
    now = timezone.now()
    with transaction.atomic():
        link = ShareLink.objects.create(
            project=project,
            token_sha256=secret_digest(token),
            recipient=recipient,
            created_by=actor,
            created_at=now,
            expires_at=end_of(project, now, days),
        )
        write_log(
            actor=actor,
            verb="link.made",
            subject=link,
            data={
                "project": str(project.pk),
                "recipient": recipient,
                "expires_at": link.expires_at.isoformat(),
            },
        )
    return link, token


def end_of(project: Project, now: datetime, days: int) -> datetime:
    """Return the midnight that ends the day ``days`` days from now, where the project is."""
    zone = ZoneInfo(project.time_zone)
    day = now.astimezone(zone).date() + timedelta(days=days + 1)
    return datetime.combine(day, time.min, tzinfo=zone)


@transaction.atomic
def revoke_link(*, actor: Person, link: ShareLink) -> ShareLink:
    """Revoke ``link``: from the next request on it opens nothing. A second time does nothing.

    Raises PermissionDenied for anybody but a manager of the contractor.
    """
    _need_keeper(actor, link.project)
    locked = ShareLink.objects.select_for_update().get(pk=link.pk)
    if locked.revoked_at is not None:
        return locked
    locked.revoked_at, locked.revoked_by = timezone.now(), actor
    locked.save(update_fields=["revoked_at", "revoked_by"])
    write_log(
        actor=actor,
        verb="link.revoked",
        subject=locked,
        data={"project": str(locked.project_id), "recipient": locked.recipient},
    )
    return locked


def note_opening(
    *, request: HttpRequest, link: ShareLink, what: str, submittal: Submittal | None = None
) -> LinkOpening | None:
    """Note one look through ``link``, and return the row.

    A request for the head alone, as programs make that show a preview, is noted as such, and
    once in ten minutes for the same program and network: None when it is noted already.
    """
    now = timezone.now()
    agent = " ".join(request.headers.get("User-Agent", "").replace("\0", "").split())
    head = request.method == "HEAD"
    row = LinkOpening(
        link=link,
        what=what,
        submittal=submittal,
        at=now,
        address=network_of(request),
        agent=(f"{HEAD}{agent}" if head else agent)[:LONGEST_AGENT],
    )
    if head:
        before = LinkOpening.objects.filter(
            link=link, what=what, submittal=submittal, address=row.address, agent=row.agent
        )
        if before.filter(at__gt=now - HEAD_ONCE).exists():
            return None
    row.save(force_insert=True)
    return row


def network_of(request: HttpRequest) -> str:
    """Return the network that the request came from: /24 of IPv4, /48 of IPv6; or nothing."""
    try:
        found = ipaddress.ip_address(str(get_client_ip_address(request) or ""))
    except ValueError:
        return ""
    address = getattr(found, "ipv4_mapped", None) or found
    return str(ipaddress.ip_network((address, PREFIXES[address.version]), strict=False))


def _need_keeper(actor: Person, project: Project) -> None:
    if not projects_kept_by(actor).filter(pk=project.pk).exists():
        raise PermissionDenied(_("Only a manager of the contractor shares a project."))

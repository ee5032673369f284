"""Giving up a signing key that others may have had, and issuing its records again."""

from datetime import datetime

from cryptography.hazmat.primitives import hashes
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from certificates.actions.issue import Instead, issue_record
from certificates.actions.status.guard import locked, reason_given
from certificates.keys import keystore_of, known_stamp_roots
from certificates.models import Doubt, KeyCompromise, Record
from certificates.queries.standing import DOUBTFUL, standing_of, with_standing
from certificates.rendering import CERTIFICATE, COMPETENCY
from certificates.signing import KeyStore, KeyStoreError, verify
from certificates.stored import NotAsIssued, read_as_issued
from training.actions.log import write_log
from training.actions.permission import require_lead
from training.errors import Refused
from training.models import Organisation, Person

UNUSABLE = N_("Nothing was done: the keys cannot be used.")


@transaction.atomic
def declare_compromise(
    *,
    actor: Person,
    provider: Organisation,
    certificate_sha256: str,
    doubtful_from: datetime,
    reason: str,
    password_checked: bool,
) -> KeyCompromise:
    """Give up a signing key: from ``doubtful_from`` on, others may have signed with it.

    The certificate is revoked, a fresh one signs from now on, and the records signed with it
    become doubtful, but those whose trusted time-stamp is before ``doubtful_from``. A later
    declaration can name an earlier moment, which makes more records doubtful.

    Raises PermissionDenied for anybody but a lead of ``provider``; Refused when the password
    was not given, for a moment in the future, for a certificate that is not the provider's,
    without a reason, and when the keys cannot be used. Nothing is stored then.
    """
    require_lead(actor, provider)
    if not password_checked:
        raise Refused(_("Write your password: this cannot be undone."), field="password")
    why = reason_given(reason)
    now = timezone.now()
    if doubtful_from > now:
        raise Refused(_("This moment has not come yet."), field="doubtful_from")
    # Whoever issues waits here, and then finds the key given up.
    Organisation.objects.select_for_update(no_key=True).get(pk=provider.pk)
    made = KeyCompromise.objects.create(
        provider=provider,
        certificate_sha256=certificate_sha256,
        doubtful_from=doubtful_from,
        reason=why,
        by=actor,
        at=now,
    )
    try:
        doubts = _doubts(made)
    except KeyStoreError as error:
        raise Refused(f"{_(UNUSABLE)} {error}") from error
    Doubt.objects.bulk_create(doubts)
    write_log(
        actor=actor,
        verb="key.compromised",
        subject=provider,
        data={
            "certificate_sha256": certificate_sha256,
            "doubtful_from": doubtful_from.isoformat(),
            "reason": why,
            "records": len(doubts),
        },
    )
    # Last, since it cannot be rolled back. Done again after a failure it changes nothing more.
    _give_up(keystore_of(provider), certificate_sha256, now, doubtful_from)
    return made


def issue_again(*, actor: Person, record: Record) -> Record:
    """Issue a doubtful record again under the key in use; the new one takes its place.

    It says the same, the holder's name and the last day of validity too. Runs in a transaction
    of its own. Raises PermissionDenied for anybody but a lead of the provider; Refused for a
    record that is not doubtful, and as ``issue_record`` does.
    """

    def guard() -> None:
        row = locked(actor, record)
        now = with_standing(Record.objects.filter(pk=row.pk)).get()
        if standing_of(now).word != DOUBTFUL:
            raise Refused(
                _("Record {number} is not doubtful, so it is not issued again.").format(
                    number=row.number
                )
            )

    def also(made: Record) -> None:
        write_log(
            actor=actor,
            verb="record.issued_again",
            subject=record,
            data={"number": record.number, "by": made.number},
        )

    with transaction.atomic():
        guard()
    name = record.document["holder"]["name"]
    return issue_record(
        actor=actor, decision=record.decision, instead=Instead(record, name, guard, also)
    )


def _doubts(made: KeyCompromise) -> list[Doubt]:
    keystore = keystore_of(made.provider)
    records = Record.objects.filter(
        provider=made.provider, certificate_sha256=made.certificate_sha256
    )
    found = []
    for record in records.iterator(chunk_size=100):
        stamped = trusted_time(record, keystore)
        if stamped is None or stamped >= made.doubtful_from:
            found.append(Doubt(compromise=made, record=record, stamped_at=stamped))
    return found


def trusted_time(record: Record, keystore: KeyStore) -> datetime | None:
    """Return the later time-stamp of the record's documents; None unless each has a good one."""
    kinds = [CERTIFICATE, COMPETENCY] if record.competency else [CERTIFICATE]
    times = []
    for kind in kinds:
        try:
            pdf = read_as_issued(record, kind)
        except NotAsIssued:
            return None
        verdict = verify(pdf, keystore.roots(), stamp_roots=known_stamp_roots())
        if not verdict.genuine or verdict.stamped_at is None:
            return None
        times.append(verdict.stamped_at)
    return max(times)


def _give_up(keystore: KeyStore, sha256: str, now: datetime, doubtful_from: datetime) -> None:
    try:
        newest = keystore.signing_certificates()[:1]
        keystore.revoke(sha256, at=now, doubtful_from=doubtful_from)
        if [each.fingerprint(hashes.SHA256()).hex() for each in newest] == [sha256]:
            keystore.rotate(at=now)
    except KeyStoreError as error:
        raise Refused(f"{_(UNUSABLE)} {error}") from error

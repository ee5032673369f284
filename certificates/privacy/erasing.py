"""What of this app stands against an erasure, what is erased, and what stays."""

from collections.abc import Iterable, Iterator

from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from certificates.models import CalendarFeed, Credential, OwnLink, Record, Reminder, Submittal
from certificates.queries.standing import standing_of, with_standing
from training.models import Employment, Erasure, Person
from training.privacy.erasable import erase_rows
from training.privacy.erasing import Kept, erasure_block, erasure_step, stays

stays(
    Kept(
        N_("Records of others that name the person as who assessed, or who sealed the standard."),
        N_("They are signed and belong to their holders, who prove their qualification with them."),
    ),
    Kept(
        N_("Who was on a project's posts on which day, confirmations and the number of a record."),
        N_("They hold the number of the person, which leads to the pseudonym."),
    ),
    Kept(
        N_("Words of a contractor in a submittal on how a gap is met."),
        N_("They are signed, and the digest of the whole stays. Name nobody there."),
    ),
)


@erasure_block
def records_that_count(person: Person, in_writing: bool) -> Iterator[str]:
    """Tell of records that hold, unless the holder asked in writing to give them up."""
    if in_writing:
        return
    for record in with_standing(Record.objects.filter(holder=person)):
        if standing_of(record).counts:
            yield _(
                "Record {number} holds: it could never be checked again. Erase it only if the "
                "holder asked for that in writing, and say so."
            ).format(number=record.number)


@erasure_step
def issued(erasure: Erasure, name: str) -> Iterable[str]:
    """Take the content and files of the person's records, and their open form."""
    records = Record.objects.filter(holder=erasure.person)
    employers = Employment.objects.filter(person=erasure.person).values("organisation")
    # The owner's copy of a submittal, in other hands, stays as it was.
    named = Submittal.objects.filter(
        Q(records__record__holder=erasure.person)
        | Q(submitted_by=erasure.person)
        | Q(project__contractor__in=employers)
    )
    return [
        *erase_rows(Submittal.objects.filter(pk__in=named.values("pk")).order_by("pk"))[1],
        *erase_rows(Credential.objects.filter(record__holder=erasure.person))[1],
        *erase_rows(records)[1],
    ]


@erasure_step
def own_links(erasure: Erasure, name: str) -> Iterable[str]:
    """End the links by which the person showed the records."""
    OwnLink.objects.filter(holder=erasure.person, revoked_at=None).update(revoked_at=timezone.now())
    return ()


@erasure_step
def told(erasure: Erasure, name: str) -> Iterable[str]:
    """Remove reminders, and addresses at which a calendar reads a crew's lapses."""
    Reminder.objects.filter(Q(person=erasure.person) | Q(record__holder=erasure.person)).delete()
    CalendarFeed.objects.filter(person=erasure.person).delete()
    return ()

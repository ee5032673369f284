"""Offers of employment, and what the person answers: only that lets records be seen."""

from datetime import date, timedelta

from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from training.actions.employment_notify import tell_answer, tell_left, tell_offer
from training.actions.identify import identify
from training.actions.log import write_log
from training.dates import day_text
from training.emails import clean_email
from training.errors import Refused
from training.models import Employment, EmploymentOffer, Organisation, Person
from training.names import clean_name
from training.queries.employment import mark_of, not_over
from training.queries.scope import contractor_organisations

State = EmploymentOffer.State
# How far from today an employment may begin: further is a slip of the pen, or asks for more
# of the past than an offer should.
BACK = timedelta(days=31)
AHEAD = timedelta(days=366)
MEANWHILE = N_("This offer was answered or taken back meanwhile: see below how it stands.")


def require_manager(actor: Person, organisation: Organisation) -> None:
    """Raise PermissionDenied unless ``actor`` manages the crew of ``organisation``."""
    if not contractor_organisations(actor).filter(pk=organisation.pk).exists():
        raise PermissionDenied(
            _("Only a manager of {organisation} may do this.").format(organisation=organisation)
        )


@transaction.atomic
def offer_employment(
    *, actor: Person, organisation: Organisation, email: str, full_name: str, since: date
) -> EmploymentOffer:
    """Ask the person with this address to be on the crew from ``since`` on; return the offer.

    Somebody unknown is made known by ``full_name``; the name of somebody known stays, and
    nothing here tells which of both it was. Raises PermissionDenied unless ``actor`` manages
    the crew; Refused for what is no name or address, for a day more than 31 days ago or a
    year ahead, for somebody on the crew then, and while another offer waits.
    """
    require_manager(actor, organisation)
    person = _addressed(full_name, email)
    _require_near(since)
    if not_over(Employment.objects.filter(person=person, organisation=organisation), since):
        raise Refused(
            _("{email} is on your crew on this day already.").format(email=person.email),
            field="email",
        )
    try:
        with transaction.atomic():
            offer = EmploymentOffer.objects.create(
                organisation=organisation, person=person, since=since, offered_by=actor
            )
    except IntegrityError:
        raise Refused(
            _("An offer to {email} waits for an answer already: take that one back first.").format(
                email=person.email
            ),
            field="email",
        ) from None
    tell_offer(offer)
    data = {"organisation": organisation.pk, "person": person.pk, "since": since.isoformat()}
    write_log(actor=actor, verb="employment.offered", subject=offer, data=data)
    return offer


@transaction.atomic
def take_back_offer(*, actor: Person, offer: EmploymentOffer) -> None:
    """Take back an offer that waits.

    Raises PermissionDenied unless ``actor`` manages that crew, Refused once it was answered.
    """
    require_manager(actor, offer.organisation)
    row = _waiting(offer)
    _close(row, State.TAKEN_BACK)
    write_log(actor=actor, verb="employment.taken_back", subject=row)


@transaction.atomic
def answer_offer(
    *, actor: Person, offer: EmploymentOffer, accept: bool, seen: str | None = None
) -> Employment | None:
    """Accept the offer, which begins the employment that is returned, or decline it.

    Accepting ends every other employment the day before: the former employer then sees the
    person's records no longer, the new one does from the first day. ``seen`` is ``mark_of``
    when the person looked; None asks nothing. Raises PermissionDenied for anybody but the
    person asked; Refused for an offer that does not wait, for a day that came too near the
    beginning of another employment, and when the employments changed meanwhile.
    """
    if offer.person_id != actor.pk:
        raise PermissionDenied(_("Only the person who was asked answers an offer."))
    # Two answers at once: the second waits here, then finds what the first one made.
    Person.objects.select_for_update(no_key=True).get(pk=actor.pk)
    row = _waiting(offer)
    begun = None
    if accept:
        if seen is not None and seen != mark_of(actor):
            raise Refused(
                _(
                    "Your employment changed since you opened this page, so nothing was done. Read "
                    "how it stands now, then decide again."
                )
            )
        if row.since < timezone.localdate() - BACK:
            raise Refused(
                _(
                    "This offer is from {since} on, which is too long ago. Ask "
                    "{organisation} for a new one."
                ).format(since=day_text(row.since), organisation=row.organisation)
            )
        begun = follow_on(actor, row.organisation, row.since)
    _close(row, State.ACCEPTED if accept else State.DECLINED)
    tell_answer(row)
    write_log(
        actor=actor,
        verb=f"employment.{row.state}",
        subject=row,
        data={"organisation": row.organisation_id, "since": row.since.isoformat()},
    )
    return begun


def follow_on(person: Person, organisation: Organisation, since: date) -> Employment:
    """Begin an employment of the locked ``person``; others end the day before.

    Raises Refused where another one begins on that day or later.
    """
    others = list(
        Employment.objects.filter(Q(until=None) | Q(until__gte=since), person=person)
        .select_related("organisation", "person")
        .order_by("since")
    )
    for other in others:
        if other.since >= since:
            raise Refused(
                _(
                    "Your employment at {employer} begins on {since}, not before {day}. Ask "
                    "{organisation} for a later day, or end the other employment first."
                ).format(
                    employer=other.organisation,
                    since=day_text(other.since),
                    day=day_text(since),
                    organisation=organisation,
                )
            )
    for other in others:
        other.until = since - timedelta(days=1)
        other.save(update_fields=["until"])
        if other.organisation_id != organisation.pk:
            tell_left(other)
    return Employment.objects.create(person=person, organisation=organisation, since=since)


def _addressed(full_name: str, email: str) -> Person:
    try:
        address = clean_email(email)
    except ValueError as error:
        raise Refused(str(error), field="email") from None
    try:
        name = clean_name(full_name)
    except ValueError as error:
        raise Refused(str(error), field="full_name") from None
    # Not by ``identify`` alone: it tells under which name an address is known.
    return Person.objects.filter(email=address).first() or identify(name, address)


def _require_near(since: date) -> None:
    today = timezone.localdate()
    if since < today - BACK:
        raise Refused(
            _("Write {day} or a later day: an employment cannot begin earlier by an offer.").format(
                day=day_text(today - BACK)
            ),
            field="since",
        )
    if since > today + AHEAD:
        raise Refused(
            _("Write {day} or an earlier day.").format(day=day_text(today + AHEAD)),
            field="since",
        )


def _waiting(offer: EmploymentOffer) -> EmploymentOffer:
    rows = EmploymentOffer.objects.select_related("organisation", "person")
    row = rows.select_for_update(no_key=True, of=("self",)).get(pk=offer.pk)
    if row.state != State.WAITING:
        raise Refused(MEANWHILE)
    return row


def _close(row: EmploymentOffer, state: EmploymentOffer.State) -> None:
    row.state = state
    row.answered_at = timezone.now()
    row.save(update_fields=["state", "answered_at"])

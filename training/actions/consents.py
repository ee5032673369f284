"""Giving, refusing and taking back a consent: by the person, or noted for the person."""

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils.translation import gettext as _

from training.actions.log import write_log
from training.errors import Refused
from training.models import Consent, Enrolment, Organisation, Person
from training.privacy.consent_words import HOW, words_of
from training.queries.consents import consents_of, providers_of
from training.queries.scope import is_lead, runs_visible_to


def give_consent(*, actor: Person, provider: Organisation, kind: str) -> Consent:
    """Agree to ``kind`` towards ``provider``; only ever for oneself."""
    return _say(actor, actor, provider, kind, True, "")


def refuse_consent(*, actor: Person, provider: Organisation, kind: str) -> Consent:
    """Refuse ``kind``, or take a consent back that was given before; only for oneself."""
    return _say(actor, actor, provider, kind, False, "")


@transaction.atomic
def note_consent(
    *, actor: Person, enrolment: Enrolment, kind: str, given: bool, how: str
) -> Consent:
    """Write down what an enrolled person said on ``paper`` or on the instructor's ``device``.

    Raises PermissionDenied unless ``actor`` teaches the run or leads its provider, and for
    oneself; Refused, at ``how``, for another way.
    """
    if how not in HOW:
        raise Refused(_("Choose how it was said: on paper, or on your device."), field="how")
    run, provider = enrolment.run, enrolment.run.program.provider
    if enrolment.person_id == actor.pk or not (
        is_lead(actor, provider) or runs_visible_to(actor).filter(pk=run.pk).exists()
    ):
        raise PermissionDenied(_("Only an instructor of this run or its lead may write this down."))
    return _say(actor, enrolment.person, provider, kind, given, how)


@transaction.atomic
def _say(
    actor: Person, person: Person, provider: Organisation, kind: str, given: bool, how: str
) -> Consent:
    """Save and return the answer; the same answer twice is kept once."""
    if kind not in Consent.Kind.values:
        raise Refused(_("Choose what the answer is about."), field="kind")
    if not providers_of(person).filter(pk=provider.pk).exists():
        raise Refused(
            _("{person} has nothing to do with {provider}.").format(
                person=person, provider=provider
            ),
            field="provider",
        )
    Person.objects.select_for_update(no_key=True).get(pk=person.pk)
    before = consents_of([person], provider)[person.pk][kind]
    if before is given:
        newest = Consent.objects.filter(person=person, provider=provider, kind=kind)
        return newest.order_by("-at", "-id")[0]
    consent = Consent.objects.create(
        person=person,
        provider=provider,
        kind=kind,
        given=given,
        words=words_of(kind, given=given, before=before, how=how),
        by=actor,
    )
    write_log(
        actor=actor,
        verb="consent.given" if given else "consent.refused",
        subject=person,
        data={"kind": kind, "provider": provider.pk, "how": how or "own"},
    )
    return consent

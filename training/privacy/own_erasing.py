"""What of this app stands against an erasure, what is erased, and what stays."""

from collections.abc import Iterable, Iterator

from axes.models import AccessAttempt, AccessFailureLog, AccessLog
from django.db.models import Model, Q
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from training.models import (
    Complaint,
    Consent,
    CourseRun,
    Employment,
    Enrolment,
    Erasure,
    GuideRead,
    HeldDocument,
    Passkey,
    Person,
    PersonFeed,
    Pin,
    Question,
    SignInLink,
)
from training.privacy.erasable import erase_rows
from training.privacy.erasing import Kept, erasure_block, erasure_step, stays, without_name

# Texts that others wrote, and that may name the person; corrections of them are not kept.
TEXTS: tuple[tuple[type[Model], tuple[str, ...]], ...] = (
    (Question, ("text", "answer")),
    (Complaint, ("text", "answer")),
)

stays(
    Kept(
        N_(
            "The log: rows that say a name was corrected, or a record was corrected, hold both "
            "names."
        ),
        N_(
            "Each row's digest covers it, and every later row covers that digest: changing one "
            "would make the whole log worthless as proof."
        ),
    ),
    Kept(
        N_("Notes and captions in site logs, and notes beside scores, that name a person."),
        N_("They only grow, and are about the work. Whoever writes them is told to name nobody."),
    ),
    Kept(
        N_("Photographs in site logs in which the person can be recognised."),
        N_(
            "Nobody says who is in them. The consent ends with the erasure, so later reports leave "
            "photographs of people of that run out; local law may ask for more."
        ),
    ),
)


@erasure_block
def employed(person: Person, in_writing: bool) -> Iterator[str]:
    """Tell of an employment that runs."""
    today = timezone.localdate()
    running = Employment.objects.filter(Q(until__isnull=True) | Q(until__gte=today), person=person)
    for each in running.select_related("organisation"):
        yield _("An employment at {organisation} runs: let it be ended first.").format(
            organisation=each.organisation
        )


@erasure_block
def on_a_run(person: Person, in_writing: bool) -> Iterator[str]:
    """Tell of runs that are not closed."""
    enrolled = Enrolment.objects.filter(person=person).exclude(state=Enrolment.State.WITHDRAWN)
    runs = CourseRun.objects.exclude(state=CourseRun.State.CLOSED).filter(
        Q(pk__in=enrolled.values("run")) | Q(instructors=person)
    )
    for run in runs.distinct().select_related("program", "site"):
        yield _("{run} is not closed: close it, or withdraw the person from it, first.").format(
            run=run
        )


@erasure_step
def papers(erasure: Erasure, name: str) -> Iterable[str]:
    """Remove the files and numbers of papers."""
    return erase_rows(HeldDocument.objects.filter(person=erasure.person))[1]


@erasure_step
def consents(erasure: Erasure, name: str) -> Iterable[str]:
    """End what was agreed to: nothing later shows or names the person."""
    given = Consent.objects.filter(person=erasure.person).values_list("provider", "kind").distinct()
    for provider, kind in given:
        Consent.objects.create(
            person=erasure.person,
            provider_id=provider,
            kind=kind,
            given=False,
            words="Taken back, with the erasure of the person's data.",
            by=erasure.by,
        )
    return ()


@erasure_step
def ways_in(erasure: Erasure, name: str) -> Iterable[str]:
    """Remove tries to sign in, ways to sign in, guides read and addresses of calendars."""
    for model in (AccessAttempt, AccessLog, AccessFailureLog):
        model.objects.filter(username__iexact=erasure.person.email).delete()
    for own in (GuideRead, PersonFeed, SignInLink, Passkey, Pin):
        own._default_manager.filter(person=erasure.person).delete()
    return ()


@erasure_step
def texts(erasure: Erasure, name: str) -> Iterable[str]:
    """Write the pseudonym where a text that may change has the name."""
    for model, fields in TEXTS:
        for field in fields:
            for row in model._default_manager.filter(**{f"{field}__contains": name}):
                now = without_name(getattr(row, field), name, erasure.pseudonym)
                model._default_manager.filter(pk=row.pk).update(**{field: now})
    return ()

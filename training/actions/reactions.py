"""A trainee's answers about a run, kept apart from who gave them."""

import secrets
from collections.abc import Mapping

from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from training.actions.log import write_log
from training.dates import day_text
from training.errors import Refused
from training.models import Enrolment, Person, Reaction, ReactionGiven
from training.queries.reactions import has_answered, may_be_asked
from training.reaction_form import HIGHEST, LONGEST_TEXT, LOWEST, QUESTIONS, STATEMENTS
from training.site_time import zone_of

ANSWERED = N_(
    "You have answered about this run already. Nobody can tell your answers from the others."
)
KEY_BITS = 62  # fits PostgreSQL's bigint


@transaction.atomic
def give_reaction(
    *, actor: Person, enrolment: Enrolment, ratings: Mapping[str, int], texts: Mapping[str, str]
) -> None:
    """Keep the answers of ``actor``, once, so that no row leads from a person to the answers.

    ``ratings`` has 1 to 5 for the key of every statement; ``texts`` may have an answer to a
    question. The keys of both rows are drawn at random, the log names neither the person nor
    the answers, and the answers carry their day alone. Only the transaction's number, which
    PostgreSQL keeps in hidden columns for its own use, still joins the two for a while.

    Raises PermissionDenied for another's place; Refused for somebody not enrolled, before the
    last day, for a second answer, and for a value that is missing or not on the scale.
    """
    if enrolment.person_id != actor.pk:
        raise PermissionDenied(_("Only the trainee may answer."))
    enrolment = Enrolment.objects.select_for_update(of=("self",)).get(pk=enrolment.pk)
    if enrolment.state != Enrolment.State.ENROLLED:
        raise Refused(_("Only who took part in the run is asked. You are not enrolled on it now."))
    run = enrolment.run
    if not may_be_asked(run):
        raise Refused(
            _("Come back on the run's last day, {ends_on}, or after it.").format(
                ends_on=day_text(run.ends_on)
            )
        )
    if has_answered(enrolment):
        raise Refused(ANSWERED)
    answers = {**_ratings(ratings), **_texts(texts)}
    today = timezone.localdate(timezone=zone_of(run.site))
    try:
        with transaction.atomic():
            ReactionGiven.objects.create(pk=_key(), enrolment=enrolment)
            Reaction.objects.create(pk=_key(), run=run, answers=answers, on=today)
    except IntegrityError as error:
        raise Refused(ANSWERED) from error
    write_log(actor=None, verb="reaction.given", subject=run)


def _key() -> int:
    return secrets.randbits(KEY_BITS)


def _ratings(given: Mapping[str, int]) -> dict[str, int]:
    found = {}
    for each in STATEMENTS:
        value = given.get(each.key)
        if value is None or not LOWEST <= value <= HIGHEST:
            raise Refused(
                _("Choose a number from {lowest} to {highest}.").format(
                    lowest=LOWEST, highest=HIGHEST
                ),
                field=each.key,
            )
        found[each.key] = value
    return found


def _texts(given: Mapping[str, str]) -> dict[str, str]:
    found = {}
    for each in QUESTIONS:
        text = given.get(each.key, "").strip()
        if len(text) > LONGEST_TEXT:
            raise Refused(
                _("Shorten this to {count} characters.").format(count=LONGEST_TEXT),
                field=each.key,
            )
        if text:
            found[each.key] = text
    return found

"""What people agreed to, and what they read when they did; the newest answer counts."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Q, QuerySet

from training.models import Consent, Organisation, Person
from training.privacy.consent_words import WORDS, how_of

Answers = dict[str, bool | None]


@dataclass(frozen=True)
class Standing:
    """What a person said last about one kind of use; ``newest`` is None before any answer."""

    provider: Organisation
    kind: str
    title: str
    words: str
    newest: Consent | None
    how: str

    @property
    def state(self) -> str:
        """Return ``given``, ``refused``, ``withdrawn`` or ``unasked``."""
        if self.newest is None:
            return "unasked"
        if self.newest.given:
            return "given"
        return "withdrawn" if "Taken back" in self.newest.words else "refused"


def consents_of(
    people: Iterable[Person | int], provider: Organisation | int
) -> dict[int, dict[str, bool | None]]:
    """Return each person's newest answer to each kind, None where never asked (one query).

    Every person asked about is a key; no answer is no consent.
    """
    keys = [each if isinstance(each, int) else each.pk for each in people]
    answers: dict[int, Answers] = {key: dict.fromkeys(Consent.Kind.values) for key in keys}
    for person, kind, given in (
        newest_consents()
        .filter(person__in=keys, provider=provider)
        .values_list("person", "kind", "given")
    ):
        answers[person][kind] = given
    return answers


def newest_consents() -> QuerySet[Consent]:
    """Return the newest answer of each person, provider and kind."""
    one = ("person_id", "provider_id", "kind")
    return Consent.objects.order_by(*one, "-at", "-id").distinct(*one)


def providers_of(person: Person) -> QuerySet[Organisation]:
    """Return the providers on whose runs ``person`` is or was enrolled, teaches, or is lead."""
    return (
        Organisation.objects.filter(kind=Organisation.Kind.PROVIDER)
        .filter(
            Q(programs__runs__enrolments__person=person)
            | Q(roles__person=person)
            | Q(programs__runs__instructors=person)
        )
        .distinct()
        .order_by("name")
    )


def standings_of(person: Person) -> list[Standing]:
    """Return what ``person`` can say to each provider, with what was said last (two queries)."""
    newest = {
        (each.provider_id, each.kind): each
        for each in newest_consents().filter(person=person).select_related("by")
    }
    return [
        _standing(provider, kind, newest.get((provider.pk, kind)))
        for provider in providers_of(person)
        for kind in Consent.Kind.values
    ]


def _standing(provider: Organisation, kind: str, newest: Consent | None) -> Standing:
    return Standing(
        provider=provider,
        kind=kind,
        title=str(Consent.Kind(kind).label),
        words=WORDS[kind],
        newest=newest,
        how=how_of(newest.words) if newest else "",
    )

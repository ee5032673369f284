"""Which records wait to be issued, withdrawn or issued again, for the first page."""

from collections.abc import Iterable

from django.db.models import Count, Exists, OuterRef
from django.urls import reverse

from assessments.queries.attempts import met_decisions
from certificates.models import Record, WithdrawalProposal
from certificates.queries.continuity import confirmations_due
from certificates.queries.keys import doubtful_records
from training.models import CourseRun, Person, Role
from training.queries.scope import provider_organisations
from training.queries.todo import Todo, todo_source


@todo_source
def records_to_issue(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a lead on which runs a met decision has no record yet (one query)."""
    if Role.Kind.LEAD not in roles:
        return
    waiting = met_decisions().filter(~Exists(Record.objects.filter(decision=OuterRef("pk"))))
    runs = (
        CourseRun.objects.filter(
            program__provider__in=provider_organisations(person),
            enrolments__attempts__decisions__in=waiting,
        )
        .select_related("program", "site")
        .annotate(waiting=Count("enrolments__attempts__decisions", distinct=True))
        .order_by("starts_on", "id")
    )
    for run in runs:
        records = "1 record" if run.waiting == 1 else f"{run.waiting} records"
        yield Todo(
            f"Issue {records} of {run.program.title}",
            f"{run.site}, {run.starts_on:%d %b %Y}. The passing standard was met.",
            reverse("run_records", args=[run.pk]),
            "Issue the records" if run.waiting > 1 else "Issue the record",
        )


@todo_source
def withdrawals_to_answer(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a lead which withdrawals another lead proposed (one query)."""
    if Role.Kind.LEAD not in roles:
        return
    waiting = (
        WithdrawalProposal.objects.filter(
            record__provider__in=provider_organisations(person),
            record__replaced_by__isnull=True,
            record__decision__replaced_by__isnull=True,
            answer__isnull=True,
        )
        .exclude(by=person)
        .exclude(record__holder=person)
        .select_related("record__holder", "by")
        .order_by("at")
    )
    for proposal in waiting:
        yield Todo(
            f"Confirm or decline: withdraw the record of {proposal.record.holder}",
            f"{proposal.by} proposed it on {proposal.at:%d %b %Y}: {proposal.reason}",
            reverse("record_withdrawal", args=[proposal.record.number]),
            "Answer the proposal",
        )


@todo_source
def records_to_issue_again(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a lead how many records a given-up key made doubtful."""
    if Role.Kind.LEAD not in roles:
        return
    for provider in provider_organisations(person).filter(key_compromises__isnull=False).distinct():
        number = len(doubtful_records(provider))
        if number:
            yield Todo(
                "Issue doubtful records again",
                f"{number} signed with a key of {provider} that was given up.",
                reverse("issuer_keys", args=[provider.pk]),
                "See the keys",
            )


@todo_source
def confirmations_to_sign(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a contractor's manager how many records of the crew want confirming (three queries)."""
    if Role.Kind.CONTRACTOR not in roles:
        return
    first, number = confirmations_due(person, 1)
    if first:
        records = "1 record wants" if number == 1 else f"{number} records want"
        yield Todo(
            "Confirm the work of your crew",
            f"{records} a confirmation. The last day due first: {first[0].confirm_by:%d %b %Y}.",
            reverse("confirm_many"),
            "See which",
        )

"""Which records wait to be issued, withdrawn or issued again, for the first page."""

from collections.abc import Iterable

from django.db.models import Count, Exists, OuterRef
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from assessments.queries.attempts import met_decisions
from certificates.models import Record, WithdrawalProposal
from certificates.queries.continuity import confirmations_due
from certificates.queries.keys import doubtful_records
from training.dates import day_text
from training.models import CourseRun, Person, Role
from training.queries.scope import provider_organisations
from training.queries.todo import Todo, todo_source
from training.said import said


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
        yield Todo(
            ngettext(
                "Issue {count} record of {title}", "Issue {count} records of {title}", run.waiting
            ).format(count=run.waiting, title=run.program.title),
            _("{site}, {day}. The passing standard was met.").format(
                site=run.site, day=day_text(run.starts_on)
            ),
            reverse("run_records", args=[run.pk]),
            _("Issue the records") if run.waiting > 1 else _("Issue the record"),
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
            _("Confirm or decline: withdraw the record of {holder}").format(
                holder=proposal.record.holder
            ),
            _("{by} proposed it on {day}: {reason}").format(
                by=proposal.by,
                day=day_text(timezone.localdate(proposal.at)),
                reason=said(proposal.reason),
            ),
            reverse("record_withdrawal", args=[proposal.record.number]),
            _("Answer the proposal"),
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
                _("Issue doubtful records again"),
                ngettext(
                    "{count} signed with a key of {provider} that was given up.",
                    "{count} signed with a key of {provider} that was given up.",
                    number,
                ).format(count=number, provider=provider),
                reverse("issuer_keys", args=[provider.pk]),
                _("See the keys"),
            )


@todo_source
def confirmations_to_sign(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a contractor's manager how many records of the crew want confirming (three queries)."""
    if Role.Kind.CONTRACTOR not in roles:
        return
    first, number = confirmations_due(person, 1)
    if first:
        yield Todo(
            _("Confirm the work of your crew"),
            ngettext(
                "{count} record wants a confirmation. The last day due first: {day}.",
                "{count} records want a confirmation. The last day due first: {day}.",
                number,
            ).format(count=number, day=day_text(first[0].confirm_by)),
            reverse("confirm_many"),
            _("See which"),
        )

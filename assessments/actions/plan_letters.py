"""E-mails between the two sides of a practice plan."""

from collections.abc import Iterable

from django.utils.translation import gettext as _

from assessments.models import PracticePlan
from training.letters import address, send_letter
from training.models import Person, Role


def tell_proposed(plan: PracticePlan, actor: Person) -> None:
    """Ask the other side to read the plan: the trainee, or those who teach the run."""
    enrolment = plan.attempt.enrolment
    own = enrolment.person_id == actor.pk
    for reader in teachers_of(plan) if own else [enrolment.person]:
        if reader.pk != actor.pk:
            send_letter(
                reader,
                subject=lambda: _("A practice plan for {program} waits for your answer").format(
                    program=enrolment.run.program.title
                ),
                template="assessments/progress/email_proposed.txt",
                context=_about(plan),
            )


def tell_agreed(plan: PracticePlan) -> None:
    """Tell the proposer that the other side agreed."""
    send_letter(
        plan.proposed_by,
        subject=lambda: _("Your practice plan for {program} is agreed").format(
            program=plan.attempt.enrolment.run.program.title
        ),
        template="assessments/progress/email_agreed.txt",
        context=_about(plan),
    )


def teachers_of(plan: PracticePlan) -> Iterable[Person]:
    """Return who teaches the run of a plan; where nobody does, who leads training there."""
    run = plan.attempt.enrolment.run
    teachers = list(run.instructors.filter(is_active=True))
    if teachers:
        return teachers
    leads = Role.objects.filter(kind=Role.Kind.LEAD, organisation=run.program.provider_id)
    return Person.objects.filter(pk__in=leads.values("person"), is_active=True)


def _about(plan: PracticePlan) -> dict[str, object]:
    return {
        "plan": plan,
        "items": list(plan.items.all()),
        "trainee": plan.attempt.enrolment.person,
        "run": plan.attempt.enrolment.run,
        "url": address("attempt_plan", pk=plan.attempt_id),
    }

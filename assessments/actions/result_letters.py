"""The e-mail that tells a trainee that a result is there; the result itself stays on its page."""

from django.utils.translation import gettext as _

from assessments.models import Attempt
from training.letters import address, send_letter


def tell_decided(attempt: Attempt) -> None:
    """Write to the trainee once; ``attempt`` with its enrolment's person, run, program and site."""
    enrolment = attempt.enrolment
    send_letter(
        enrolment.person,
        subject=lambda: _("Your result can be read"),
        template="assessments/email/result_there.txt",
        context={
            "attempt": attempt,
            "run": enrolment.run,
            "url": address("attempt", pk=attempt.pk),
        },
    )

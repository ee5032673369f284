"""What is said on the run's page of those who may go again."""

from collections.abc import Mapping
from uuid import UUID

from django import template

from assessments.queries.retakes import RunRetake
from training.models import Enrolment

register = template.Library()


@register.filter
def of_enrolment(retakes: Mapping[UUID, RunRetake], enrolment: Enrolment) -> RunRetake | None:
    """Return what is said of ``enrolment``, as ``run_retakes`` gives it."""
    return retakes.get(enrolment.pk)

"""Who may create a project and describe its posts."""

from django.core.exceptions import PermissionDenied
from django.utils.translation import gettext as _

from certificates.models import Project
from training.models import Organisation, Person, Role


def require_describes(actor: Person, project: Project) -> None:
    """Raise PermissionDenied unless ``actor`` speaks for the contractor or owner of ``project``."""
    if not speaks_for(actor, project.contractor, project.owner):
        raise PermissionDenied(
            _("Only a manager of {contractor} or the owner's representative may do this.").format(
                contractor=project.contractor
            )
        )


def keeps(actor: Person, contractor: Organisation) -> bool:
    """Say whether ``actor`` manages the crew of ``contractor`` (one query)."""
    return Role.objects.filter(
        person=actor, organisation=contractor, kind=Role.Kind.CONTRACTOR
    ).exists()


def speaks_for(actor: Person, contractor: Organisation, owner: Organisation | None) -> bool:
    """Say whether ``actor`` manages the contractor's crew or represents the owner."""
    if keeps(actor, contractor):
        return True
    return (
        owner is not None
        and Role.objects.filter(person=actor, organisation=owner, kind=Role.Kind.OWNER).exists()
    )

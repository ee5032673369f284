"""Who may write: asked by every action before anything else."""

from django.core.exceptions import PermissionDenied
from django.utils.translation import gettext as _

from training.models import Organisation, Person
from training.queries.scope import is_lead


def require_lead(actor: Person, provider: Organisation) -> None:
    """Raise PermissionDenied unless ``actor`` leads training at ``provider``."""
    if not is_lead(actor, provider):
        raise PermissionDenied(
            _("Only a training lead of {provider} may do this.").format(provider=provider)
        )

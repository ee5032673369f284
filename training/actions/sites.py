"""Adding a site to work on."""

from zoneinfo import available_timezones

from django.db import transaction
from django.utils.translation import gettext as _

from training.actions.log import write_log
from training.actions.permission import require_lead
from training.errors import Refused
from training.models import Organisation, Person, Site


@transaction.atomic
def add_site(
    *,
    actor: Person,
    provider: Organisation,
    name: str,
    time_zone: str,
    address: str = "",
    owner: Organisation | None = None,
) -> Site:
    """Save and return a site of ``provider``; ``time_zone`` is a name such as Europe/London.

    Raises PermissionDenied for anyone but a lead of the provider, Refused for a name that is
    taken, a time zone that does not exist, or an owner that is no building's owner.
    """
    require_lead(actor, provider)
    if time_zone not in available_timezones():
        raise Refused(_("Choose a time zone such as America/New_York."), field="time_zone")
    if owner is not None and owner.kind != Organisation.Kind.OWNER:
        raise Refused(
            _("{owner} is not known as a building's owner.").format(owner=owner), field="owner"
        )
    name = " ".join(name.split())
    if not name:
        raise Refused(_("Write the name of the site."), field="name")
    Organisation.objects.select_for_update().get(pk=provider.pk)  # one new site at a time
    if Site.objects.filter(provider=provider, name__iexact=name).exists():
        raise Refused(
            _("{provider} has a site of this name already.").format(provider=provider), field="name"
        )
    site = Site.objects.create(
        provider=provider, owner=owner, name=name, address=address.strip(), time_zone=time_zone
    )
    write_log(
        actor=actor, verb="site.added", subject=site, data={"name": name, "time_zone": time_zone}
    )
    return site

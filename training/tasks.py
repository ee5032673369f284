"""What workers do in the background for this app. ``manage.py worker`` runs one."""

from django_tasks import task

# Somebody waits at a sign-in page; records and reports may take a little longer.
SOON = 50


@task(priority=SOON)
def send_sign_in_link(email: str, following: str) -> None:
    """Send a sign-in link to whoever has this address, if anybody has."""
    # What asks for a task must not need what does it.
    from training.actions.sign_in_links import send_link

    send_link(email=email, following=following)

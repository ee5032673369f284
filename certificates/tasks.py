"""What workers do in the background. ``manage.py worker`` runs one."""

from django_tasks import task

from certificates.actions.issue_item import issue_item


@task()
def issue(item_id: int) -> None:
    """Issue the record of an item of a job."""
    issue_item(item_id)

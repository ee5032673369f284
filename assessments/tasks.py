"""What workers do in the background for this app. ``manage.py worker`` runs one."""

from django_tasks import task


@task()
def make_report(file_id: str) -> None:
    """Make the PDF of a training report."""
    # What asks for a task must not need what does it.
    from assessments.actions.report_files import make_file

    make_file(file_id)

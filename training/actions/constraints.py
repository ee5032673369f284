"""Which rule of the database said no."""

from django.db import IntegrityError


def violated(error: IntegrityError) -> str:
    """Return the name of the constraint that ``error`` speaks of; empty when it names none."""
    diagnostic = getattr(error.__cause__, "diag", None)
    return getattr(diagnostic, "constraint_name", None) or ""

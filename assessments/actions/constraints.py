"""Which rule of the database said no: the app below knows; the name is kept here for this app."""

from training.actions.constraints import violated

__all__ = ["violated"]

"""Read PDFs that strangers send: in a process of its own, with little memory and little time."""

from certificates.sandbox.apart import Busy, NotStarted, verify_apart

__all__ = ["Busy", "NotStarted", "verify_apart"]

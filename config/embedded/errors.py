"""What can go wrong with the embedded server."""


class EmbeddedError(Exception):
    """The embedded server cannot be used; the message says what to do."""

"""What can go wrong while rendering."""


class RenderingError(Exception):
    """The record cannot be rendered; the text is a sentence that says what to do."""

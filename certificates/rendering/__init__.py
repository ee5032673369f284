"""Turn a record document into a PDF that a mason frames and an architect files."""

from certificates.rendering.document import render
from certificates.rendering.errors import RenderingError

__all__ = ["RenderingError", "render"]

"""Turn a record document into PDFs that a mason frames and an architect files."""

from certificates.rendering.document import CERTIFICATE, COMPETENCY, KINDS, Kind, render
from certificates.rendering.errors import RenderingError

__all__ = ["CERTIFICATE", "COMPETENCY", "KINDS", "Kind", "RenderingError", "render"]

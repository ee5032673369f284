"""What a contractor hands the owner: its document, the signed PDF, and the archive of all of it."""

from certificates.submittal.document import SCHEMA, Statement, finished, statement_of
from certificates.submittal.rendering import render_submittal

__all__ = ["SCHEMA", "Statement", "finished", "render_submittal", "statement_of"]

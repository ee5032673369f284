"""Ordinary documents on paper: a Django template becomes a tagged PDF."""

from training.documents.render import PAPERS, Paper, render_pdf, source_of, write_pdf

__all__ = ["PAPERS", "Paper", "render_pdf", "source_of", "write_pdf"]

"""Poppler's and qpdf's programs, run on bytes."""

import subprocess
from pathlib import Path
from tempfile import TemporaryDirectory

from PIL import Image


def run_on(pdf: bytes, *command: str) -> str:
    """Run a program with the PDF's path in place of ``FILE``; raise when it fails."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "record.pdf"
        path.write_bytes(pdf)
        words = [str(path) if word == "FILE" else word for word in command]
        done = subprocess.run(words, check=True, capture_output=True, text=True, cwd=folder)
        return done.stdout


def text_of(pdf: bytes, *, page: int | None = None) -> str:
    """The text of a PDF, or of one page, with white space made single."""
    pages = [] if page is None else ["-f", str(page), "-l", str(page)]
    return " ".join(run_on(pdf, "pdftotext", *pages, "FILE", "-").split())


def picture_of(pdf: bytes, *, page: int, dpi: int = 150) -> Image.Image:
    """A page as it prints."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "record.pdf"
        path.write_bytes(pdf)
        subprocess.run(
            ["pdftoppm", "-r", str(dpi), "-f", str(page), "-singlefile", "-png", path,
             Path(folder) / "page"],
            check=True,
        )  # fmt: skip
        with Image.open(Path(folder) / "page.png") as picture:
            picture.load()
            return picture

"""A training report of 300 photographs against the bare WeasyPrint render of the same page.

Run ``python -m tests.bench.bench_report [PHOTOGRAPHS]``. Both sides get the same page source with
photographs of 2048 pixels, as the site log keeps them. The product makes them small, asks for a
tagged PDF/UA-1 with the last touches, and works in a process of its own; the bare side hands
everything to WeasyPrint as it is, tagged, in a process too. Peak memory is ``ru_maxrss`` of the
process that did it. Needs no database.
"""

import json
import multiprocessing
import resource
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import django
import pikepdf
from PIL import Image
from weasyprint import CSS, HTML

PHOTOGRAPHS = 300
SIDE = (2048, 1536)
MEGABYTE = 1 << 20


def main(number: int) -> None:
    """Print time, ratio, memory and pages per second of both sides."""
    with TemporaryDirectory() as name:
        folder = Path(name)
        taken = sum(path.stat().st_size for path in _photographs(folder / "taken", number))
        bare = _measured(_bare, _job(folder / "bare", folder / "taken", number))
        ours = _measured(_ours, _job(folder / "ours", folder / "taken", number))
    print(f"photographs          {number:9}, {taken / MEGABYTE:.0f} MB")
    for side, (seconds, memory, pages, size) in (("bare", bare), ("ours", ours)):
        print(
            f"{side}                 {seconds:9.1f} s {pages / seconds:8.1f} pages/s "
            f"{memory:8.0f} MB at most {pages:5} pages {size / MEGABYTE:7.1f} MB of PDF"
        )
    print(f"ratio                {ours[0] / bare[0]:9.2f}")


def _photographs(folder: Path, number: int) -> list[Path]:
    """Write photographs that are hard to squeeze, each another one."""
    folder.mkdir()
    stone = Image.effect_noise((256, 192), 90).convert("RGB").resize(SIDE, Image.Resampling.BICUBIC)
    paths = []
    for place in range(number):
        path = folder / f"log-{place}.jpg"
        stone.rotate(place % 2 * 180).point(lambda value, at=place: (value + at) % 256).save(
            path, quality=85
        )
        paths.append(path)
    return paths


def _job(folder: Path, taken: Path, number: int) -> Path:
    """Write a job as the worker does, for the photographs in ``taken``."""
    from assessments.trainingreport import job, wire
    from training.documents import source_of

    pictures = folder / wire.PICTURES
    pictures.mkdir(parents=True)
    listed = []
    for place in range(number):
        name = f"log-{place}"
        (pictures / f"{name}.jpg").write_bytes((taken / f"{name}.jpg").read_bytes())
        listed.append({"id": name, "number": place + 1, "caption": f"Joint {place} raked out"})
    document = _document([{**each, "grid": "C4", "width": 4, "height": 3} for each in listed])
    sources = {each["id"]: (pictures / f"{each['id']}.jpg").as_uri() for each in listed}
    context = {"report": document, "sources": sources}
    (folder / wire.SOURCE).write_text(
        source_of(job.TEMPLATE, context, paper="letter", title=document["title"])
    )
    sent = [{**each, "file": f"{each['id']}.jpg"} for each in listed]
    (folder / wire.JOB).write_text(json.dumps({"paper": "letter", "pictures": sent}))
    return folder


def _document(pictures: list[dict[str, Any]]) -> dict[str, Any]:
    stages = [
        {"key": str(at), "title": f"Stage {at}", "text": "", "pictures": pictures[at::6]}
        for at in range(6)
    ]
    part = {"key": "procedure", "number": 1, "heading": "The procedure", "text": ""}
    return {"title": "Training report", "parts": [{**part, "facts": {"stages": stages}}]}


def _ours(folder: Path) -> Path:
    from assessments.trainingreport.apart import render_apart

    return render_apart(folder, lambda done: True)


def _bare(folder: Path) -> Path:
    made = folder / "report.pdf"
    program = f"from tests.bench.bench_report import bare; bare({str(folder)!r}, {str(made)!r})"
    subprocess.run([sys.executable, "-c", program], check=True)
    return made


def bare(folder: str, made: str) -> None:
    """Render the page of a job with WeasyPrint alone."""
    styles = Path(__file__).resolve().parents[2] / "templates" / "documents"
    html = HTML(string=(Path(folder) / "source.html").read_text(), base_url=f"{styles.as_uri()}/")
    sheet = CSS(filename=styles / "document.css")
    html.write_pdf(made, stylesheets=[sheet], pdf_variant="pdf/ua-1", pdf_tags=True)


def _measured(side: Callable[[Path], Path], folder: Path) -> tuple[float, float, int, int]:
    """Return seconds, the peak memory of the process in MB, pages and bytes of the PDF."""
    context = multiprocessing.get_context("spawn")
    results = context.Queue()
    process = context.Process(target=_run, args=(side, folder, results))
    process.start()
    seconds, memory, made = results.get()
    process.join()
    with pikepdf.open(made) as pdf:
        pages = len(pdf.pages)
    return seconds, memory / 1024, pages, made.stat().st_size


def _run(side: Callable[[Path], Path], folder: Path, results: Any) -> None:
    start = time.perf_counter()
    made = side(folder)
    seconds = time.perf_counter() - start
    results.put((seconds, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss, made))


if __name__ == "__main__":
    import os

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    django.setup()
    main(int(sys.argv[1]) if len(sys.argv) > 1 else PHOTOGRAPHS)

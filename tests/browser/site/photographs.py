"""Photographs as cameras write them, and a device to take them with."""

import io
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

from PIL import Image
from PIL.ExifTags import GPS, IFD, Base
from playwright.sync_api import FilePayload, Page, Request, Route

SMALL = (800, 600)
HEIC = b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + bytes(200)  # ISO 14496-12, 4.3; no picture in it


TAKEN, OFFSET = "2026:11:03 10:15:00", "-05:00"
RED = (200, 20, 20)
PACK = {
    "id": "0192f0c0-0000-7000-8000-000000000001",
    "token": "a-token",
    "assessor": {"id": "7", "name": "Tomasz Wieland"},
    "standard": {
        "digest": "0" * 64,
        "document": {
            "criteria": [{"key": "C3", "title": "Bed joint"}],
            "stages": [{"key": "S2", "title": "Dry fit"}],
        },
    },
    "trainees": [{"attempt": "0192f0c0-0000-7000-8000-00000000000a", "name": "Søren Tårnby"}],
}
PLACE = {
    "pack": PACK,
    "attempt": "0192f0c0-0000-7000-8000-00000000000a",
    "subject": {"kind": "criterion", "key": "C3"},
    "stage": "S2",
}


FRAME = """async ([argument, place]) => {
    const photos = await import("/static/site/photos.js");
    const { openDb } = await import("/static/site/db.js");
    const db = await openDb();
    const file = () => document.getElementById("chosen").files[0];
    const base64 = (buffer) => {
        const letters = Array.from(new Uint8Array(buffer), (byte) => String.fromCharCode(byte));
        return btoa(letters.join(""));
    };
    const told = ({ name, kind, message }) => ({ name, kind, said: message });
    try { SCRIPT } finally { db.close(); }
}"""


def photograph(
    size: tuple[int, int] = (4000, 3000),
    *,
    taken: str | None = TAKEN,
    offset: str | None = OFFSET,
    grain: int = 16,
    seed: int = 1,
) -> bytes:
    """Return a JPEG of speckled mortar with a red corner, with Exif and GPS.

    ``grain`` is the size of a speck in pixels: the smaller, the harder to make small. The corner
    is at the top left as stored; Orientation 6 (Exif: row 0 is the right-hand side, column 0 the
    top) puts it at the top right as seen.
    """
    specks = (size[0] // grain + 1, size[1] // grain + 1)
    mortar = random.Random(seed).randbytes(specks[0] * specks[1])
    image = Image.frombytes("L", specks, mortar).resize(size).convert("RGB")
    image.paste(RED, (0, 0, size[0] // 4, size[1] // 4))
    exif = Image.Exif()
    exif[Base.Orientation] = 6
    inner = exif.get_ifd(IFD.Exif)
    if taken:
        inner[Base.DateTimeOriginal] = taken
    if offset:
        inner[Base.OffsetTimeOriginal] = offset
    exif.get_ifd(IFD.GPSInfo).update(
        {
            GPS.GPSLatitudeRef: "N",
            GPS.GPSLatitude: (43.0, 21.0, 9.0),
            GPS.GPSLongitudeRef: "W",
            GPS.GPSLongitude: (70.0, 4.0, 5.0),
        }
    )
    out = io.BytesIO()
    image.save(out, "JPEG", quality=90, exif=exif, comment=b"a comment of the camera")
    return out.getvalue()


def as_file(photo: bytes) -> FilePayload:
    """Return the photograph as a file chooser gives it."""
    return {"name": "photo.jpg", "mimeType": "image/jpeg", "buffer": photo}


class Device:
    """A page of the product, in which the modules of the scoring pages are tried one by one.

    What is run sees db, photos and place; ``file()`` is what ``choose`` chose.
    """

    def __init__(self, page: Page, address: str) -> None:
        self.page = page
        page.goto(f"{address}/sign-in/")
        self.hold(PLACE["pack"], PLACE["attempt"])

    def hold(self, pack: Any, attempt: Any) -> None:
        """Go on with this pack alone, and with this attempt of it."""
        self.place = {**PLACE, "pack": pack, "attempt": attempt}
        self.run(
            """for (const { id } of await db.all("packs")) await db.delete("packs", id);
            await db.put("packs", place.pack);"""
        )

    def run(self, script: str, argument: Any = None) -> Any:
        """Run ``script``, the body of an asynchronous function; return what it returns."""
        return self.page.evaluate(FRAME.replace("SCRIPT", script), [argument, self.place])

    def choose(self, file: bytes | Path) -> None:
        """Choose a file: bytes, or the path of one."""
        self.page.evaluate(
            """() => {
                document.getElementById("chosen")?.remove();
                const input = document.createElement("input");
                input.type = "file";
                input.id = "chosen";
                document.body.append(input);
            }"""
        )
        if isinstance(file, Path):
            self.page.set_input_files("#chosen", file)
        else:
            self.page.set_input_files("#chosen", as_file(file))

    def take(self, file: bytes | Path) -> Any:
        """Take a photograph; return {event} or {error: {name, kind, said}}."""
        self.choose(file)
        return self.run(
            """return await photos.takePhoto(db, { ...place, file: file() })
                .then((event) => ({ event }), (error) => ({ error: told(error) }));"""
        )

    def kept(self) -> Any:
        """Return what the device holds: events, photos (bytes as base64) and intents."""
        return self.run(
            """const rows = await db.all("photos");
            return {
                events: await db.all("events"),
                photos: rows.map((row) => ({
                    ...row, bytes: row.bytes && base64(row.bytes), thumb: base64(row.thumb),
                })),
                intents: await photos.openIntents(db),
            };"""
        )

    def acknowledge(self) -> None:
        """Note that the server has every event."""
        self.run('await db.acknowledge(await db.all("events"), new Date().toISOString());')

    def send(self, *, again: bool = False) -> Any:
        return self.run(
            "return await photos.sendPhotos(db, place.pack, { again: argument });", again
        )


Answer = Callable[[Route, str], None]


def answering(page: Page, answer: Answer) -> list[Request]:
    """Answer for the server; return the list in which the requests are noted."""
    noted: list[Request] = []

    def handle(route: Route) -> None:
        noted.append(route.request)
        answer(route, route.request.url.rstrip("/").rsplit("/", 1)[1])

    page.context.unroute("**/site/photos/**")
    page.context.route("**/site/photos/**", handle)
    return noted


def taken(route: Route, sha256: str) -> None:
    """Answer as the server does when it has the bytes."""
    route.fulfill(json={"sha256": sha256})

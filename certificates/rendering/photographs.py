"""The photographs of a record, each beside what it shows."""

from collections.abc import Mapping
from typing import Any

from assessments.engine.standard import Standard
from certificates.rendering.errors import RenderingError
from certificates.rendering.pictures import as_source, largest_each, small_jpeg
from certificates.rendering.wording import say_instant

Subject = tuple[str, str]


def photographs_of(
    record: Mapping[str, Any], standard: Standard, photographs: Mapping[str, bytes]
) -> dict[Subject, list[dict[str, Any]]]:
    """The record's photographs by (kind, key) of what they show, numbered as they stand.

    ``photographs`` are JPEG bytes by their SHA-256. Each photograph has ``source`` (None where
    its bytes are not given), ``told`` (its alternative text), ``name`` and ``caption``. Raises
    RenderingError for a photograph of a thing that the standard does not have, or of bytes that
    are no photograph.
    """
    rows = record.get("photos", [])
    most = largest_each(len(rows))
    titles = _titles(standard)
    found: dict[Subject, list[Mapping[str, Any]]] = {}
    for row in rows:
        subject = (row["subject"]["kind"], row["subject"]["key"])
        if subject not in titles:
            raise RenderingError(
                f"The standard has no {subject[0].replace('_', ' ')} {subject[1]!r} of which the "
                "record has a photograph: build it again."
            )
        found.setdefault(subject, []).append(row)
    shown: dict[Subject, list[dict[str, Any]]] = {}
    number = 0
    for subject, (title, stage) in titles.items():
        for row in found.get(subject, []):
            number += 1
            caption = f"{stage}. Taken by {row['by']}, {say_instant(row['claimed_at'])} as claimed."
            data = photographs.get(row["sha256"])
            shown.setdefault(subject, []).append(
                {
                    "name": f"Photograph {number}",
                    "caption": caption,
                    "told": f"Photograph {number}: {title}. {caption}",
                    "source": as_source(small_jpeg(data, most)) if data is not None else None,
                }
            )
    return shown


def _titles(standard: Standard) -> dict[Subject, tuple[str, str]]:
    """Title of each hold point and criterion with that of its stage, in the order of the pages."""
    titles: dict[Subject, tuple[str, str]] = {}
    for index, stage in enumerate(standard.stages):
        titles["hold_point", stage.key] = (f"Hold point {stage.title}", stage.title)
        for criterion in standard.criteria:
            if criterion.stage == index:
                titles["criterion", criterion.key] = (criterion.title, stage.title)
    return titles

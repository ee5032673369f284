"""What the author of a report chose: parts, their order, headings and texts, photographs, captions.

Kept as JSON in ``TrainingReport.choices``: {"parts": [{key, shown, heading, text}], "stages":
{stage key: {"text", "pictures": [{id, caption}] or null}}}. It holds no figure.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from assessments.trainingreport.parts import BY_KEY, PARTS


@dataclass(frozen=True)
class PartChoice:
    """A part as chosen; an empty ``heading`` stands for the part's own."""

    key: str
    shown: bool = True
    heading: str = ""
    text: str = ""

    @property
    def title(self) -> str:
        """The heading that is shown."""
        return self.heading or BY_KEY[self.key].heading


@dataclass(frozen=True)
class Picture:
    """A chosen photograph by its id (``log-`` or ``attempt-`` and a UUID); empty: own caption."""

    id: str
    caption: str = ""


@dataclass(frozen=True)
class StageChoice:
    """The text and photographs of a stage; None: nobody chose yet, the site log's are shown."""

    text: str = ""
    pictures: tuple[Picture, ...] | None = None


@dataclass(frozen=True)
class Choices:
    """All that was chosen; ``parts`` holds every part once, in the order of the report."""

    parts: tuple[PartChoice, ...] = tuple(PartChoice(part.key) for part in PARTS)
    stages: Mapping[str, StageChoice] = field(default_factory=dict)

    def stage(self, key: str) -> StageChoice:
        """What was chosen for a stage, also if nothing was."""
        return self.stages.get(key, StageChoice())

    def with_stage(self, key: str, choice: StageChoice) -> "Choices":
        """These choices with another one for a stage."""
        return replace(self, stages={**self.stages, key: choice})


def load_choices(document: Mapping[str, Any]) -> Choices:
    """Return what ``dump_choices`` wrote.

    A part that is not in it, as it came with a later release, is shown at the end.
    """
    known = [row for row in document.get("parts", []) if row["key"] in BY_KEY]
    chosen = [PartChoice(row["key"], row["shown"], row["heading"], row["text"]) for row in known]
    there = {part.key for part in chosen}
    added = [PartChoice(part.key) for part in PARTS if part.key not in there]
    stages = {key: _stage(row) for key, row in document.get("stages", {}).items()}
    return Choices((*chosen, *added), stages)


def dump_choices(choices: Choices) -> dict[str, Any]:
    """Return the choices as JSON."""
    return {
        "parts": [
            {"key": part.key, "shown": part.shown, "heading": part.heading, "text": part.text}
            for part in choices.parts
        ],
        "stages": {
            key: {
                "text": stage.text,
                "pictures": None
                if stage.pictures is None
                else [{"id": each.id, "caption": each.caption} for each in stage.pictures],
            }
            for key, stage in choices.stages.items()
        },
    }


def _stage(row: Mapping[str, Any]) -> StageChoice:
    pictures = row["pictures"]
    if pictures is None:
        return StageChoice(row["text"])
    return StageChoice(
        row["text"], tuple(Picture(each["id"], each["caption"]) for each in pictures)
    )

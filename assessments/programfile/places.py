"""Where in a file a value stands: kept while reading, so that any later fault finds its line."""

from dataclasses import dataclass, field, replace

from ruamel.yaml.nodes import Node

from assessments.programfile.faults import Fault

Path = tuple[str | int, ...]


@dataclass(frozen=True)
class Mark:
    """A line and a column, both from 1, and the path of names shown to the reader."""

    line: int
    column: int
    label: str


@dataclass
class Marks:
    """The mark of each value of one file, and the faults found so far."""

    marks: dict[Path, Mark] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)

    def nearest(self, path: Path) -> Mark:
        """Return the mark of the value at ``path``, or of the nearest part that holds it."""
        for end in range(len(path), -1, -1):
            if path[:end] in self.marks:
                return self.marks[path[:end]]
        return Mark(1, 1, "")

    def fault_at(self, path: Path, message: str) -> None:
        """Add a fault at the value that ``path`` names."""
        mark = self.nearest(path)
        self.faults.append(Fault(mark.line, mark.column, mark.label, message))


@dataclass(frozen=True)
class Place:
    """One value while it is read: its path, its label, and the unit of the part around it."""

    marks: Marks
    path: Path = ()
    label: str = ""
    unit: str | None = None

    def enter(self, node: Node, step: str | int, label: str = "") -> "Place":
        """Return the place of a part of this value and keep the part's mark."""
        name = label or str(step)
        joined = f"{self.label}{name}" if name.startswith("[") else f"{self.label}.{name}"
        place = replace(self, path=(*self.path, step), label=joined.lstrip("."))
        start = node.start_mark
        place.marks.marks[place.path] = Mark(start.line + 1, start.column + 1, place.label)
        return place

    def fault(self, node: Node, message: str) -> None:
        """Add a fault at the start of ``node``."""
        start = node.start_mark
        self.marks.faults.append(Fault(start.line + 1, start.column + 1, self.label, message))

    def in_unit(self, unit: str | None) -> "Place":
        """Return the same place with the unit that its measures are written in."""
        return replace(self, unit=unit)

"""From bytes to a tree of YAML nodes: what a program file may not hold is refused here.

YAML 1.2, read with ruamel.yaml, which keeps the line and column of each node. Nothing is ever
constructed from a tag, and an anchor cannot multiply, because neither is allowed.
"""

import re
from collections.abc import Iterable

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    Event,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)
from ruamel.yaml.nodes import MappingNode

from assessments.programfile.faults import Fault, ProgramFileError

MAX_BYTES = 1_000_000
MAX_DEPTH = 12
MAX_VALUES = 20_000  # a program of a hundred criteria holds about 4,000
# Tabs, control characters, separators and halves of characters: none can be seen on paper.
_UNSEEN = re.compile(
    "[\t\r\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ufeff\ufffe\uffff\ud800-\udfff]"
)
_ADVICE = (
    ("mapping values are not allowed", "put a text that holds ': ' between quotes"),
    ("cannot start any token", "put a text that begins with this sign between quotes"),
    ("could not find expected ':'", "write a name, a colon and a value on each line"),
    ("end of stream", "close the quote that is opened here"),
    ("expected ',' or", "close the bracket that is opened before, or add a comma"),
    ("expected <block end>", "line this up with its neighbours: the indent is not the same"),
)


def decode(source: bytes | str, filename: str) -> str:
    """Return the text of a file; raise ProgramFileError if it is too big or not UTF-8."""
    data = source.encode("utf-8", "surrogatepass") if isinstance(source, str) else source
    if len(data) > MAX_BYTES:
        message = f"the file is over {MAX_BYTES:,} bytes; write one program a file"
        raise ProgramFileError(filename, [Fault(1, 1, "", message)])
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = data[: error.start]
        line = before.count(b"\n") + 1
        column = error.start - (before.rfind(b"\n") + 1) + 1
        message = "this is not UTF-8 text; save the file with the encoding UTF-8"
        raise ProgramFileError(filename, [Fault(line, column, "", message)]) from None


def read_tree(source: bytes | str, filename: str) -> MappingNode:
    """Return the file's top mapping; raise ProgramFileError with all that is not plain YAML."""
    text = decode(source, filename).replace("\r\n", "\n")
    faults = _forbidden_characters(text)
    if faults:
        raise ProgramFileError(filename, faults)
    try:
        faults = _forbidden_events(YAML(typ="safe", pure=True).parse(text))
        if faults:
            raise ProgramFileError(filename, faults)
        node = YAML(typ="safe", pure=True).compose(text)
    except MarkedYAMLError as error:
        raise ProgramFileError(filename, [_syntax_fault(error)]) from None
    except (YAMLError, ValueError, OverflowError) as error:  # "\\U00110000" is no character
        message = f"this is not YAML: {str(error).splitlines()[0]}; look for a wrong \\ in quotes"
        line = text[: max(text.find("\\"), 0)].count("\n") + 1
        raise ProgramFileError(filename, [Fault(line, 1, "", message)]) from None
    if not isinstance(node, MappingNode):
        message = "begin the file with the line 'format: bankermark program 1'"
        raise ProgramFileError(filename, [Fault(1, 1, "", message)])
    return node


def _forbidden_characters(text: str) -> list[Fault]:
    """Return a fault for the first forbidden character of each line."""
    faults = []
    for number, line in enumerate(text.split("\n"), start=1):
        found = _UNSEEN.search(line)
        if found is not None:
            faults.append(Fault(number, found.start() + 1, "", _unseen(found.group())))
    return faults


def _unseen(sign: str) -> str:
    """Return the sentence for a character that cannot be seen."""
    if sign == "\t":
        return "a tab stands here; indent and separate with spaces"
    return f"take out the unseen character U+{ord(sign):04X}"


def _forbidden_events(events: Iterable[Event]) -> list[Fault]:
    """Return the anchors, aliases, tags, directives, unseen characters,
    further documents and over-deep parts."""
    faults: list[Fault] = []
    depth = documents = values = 0
    for event in events:
        message = ""
        if isinstance(event, DocumentStartEvent):
            documents += 1
            if documents == 2:
                message = "a second document begins here; write one program a file"
            elif event.version or event.tags:
                message = "take out the line that begins with %"
        elif isinstance(event, AliasEvent):
            message = "a name after * repeats another part; write the part out"
        elif getattr(event, "anchor", None):
            message = "take out the anchor (the name after &); write each part out"
        elif getattr(event, "tag", None):
            message = "take out the tag (the word after !); a program file needs none"
        elif isinstance(event, ScalarEvent) and (found := _UNSEEN.search(event.value)):
            message = _unseen(found.group())  # written as an escape, such as "\\0"
        if isinstance(event, MappingStartEvent | SequenceStartEvent):
            depth += 1
            if depth > MAX_DEPTH:
                message = f"the parts are nested over {MAX_DEPTH} deep; check the brackets"
        elif isinstance(event, MappingEndEvent | SequenceEndEvent):
            depth -= 1
        if message:
            mark = event.start_mark
            faults.append(Fault(mark.line + 1, mark.column + 1, "", message))
        values += isinstance(event, ScalarEvent)
        if values > MAX_VALUES:
            message = f"over {MAX_VALUES:,} names and values stand before here; write one program"
            faults.append(Fault(event.start_mark.line + 1, 1, "", message))
        if depth > MAX_DEPTH or values > MAX_VALUES:
            break  # reading on would take ever longer
    return faults


def _syntax_fault(error: MarkedYAMLError) -> Fault:
    """Return what ruamel.yaml could not read, with advice where the case is a usual one."""
    mark = error.problem_mark or error.context_mark
    problem = str(error.problem or error)
    advice = next((words for part, words in _ADVICE if part in problem), "")
    message = f"this is not YAML ({problem})" + (f"; {advice}" if advice else "")
    line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
    return Fault(line, column, "", message)

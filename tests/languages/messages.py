"""What of the sources is to be translated: read by Django's templatize and by Python's ast."""

import ast
import re
import subprocess
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from django.utils.translation.template import templatize

ROOT = Path(__file__).resolve().parents[2]
# The names under which the sources know gettext, and how many texts each takes.
FUNCTIONS = {
    "gettext": 1, "gettext_lazy": 1, "gettext_noop": 1, "_": 1, "_l": 1, "N_": 1,
    "ngettext": 2, "ngettext_lazy": 2, "pgettext": 1, "pgettext_lazy": 1,
}  # fmt: skip
# Templatize writes ``gettext('…')`` for a tag, and ``_("…")`` as it stands in an argument.
_TEXT = r"u?('(?:[^'\\]|\\.)*'|\"(?:[^\"\\]|\\.)*\")"
_CALL = re.compile(rf"(?<!\w)(n?p?gettext|_)\(\s*{_TEXT}(?:\s*,\s*{_TEXT})?", re.DOTALL)


@dataclass(frozen=True)
class Message:
    """A text, its plural where it has one, its context, and the file it stands in."""

    singular: str
    plural: str
    context: str
    path: str


def tracked(*patterns: str) -> list[Path]:
    """Return the files of the checkout that match, as git knows them."""
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "--", *patterns],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    return [ROOT / name for name in listed.stdout.splitlines() if (ROOT / name).exists()]


def sources() -> list[Path]:
    """Return every template and every module of the apps."""
    return [
        *tracked("templates"),
        *(
            path
            for path in tracked("training", "assessments", "certificates")
            if path.suffix == ".py" and "migrations" not in path.parts
        ),
    ]


def messages(paths: Iterable[Path]) -> Iterator[Message]:
    """Give every message of the files; those of one file in its order."""
    for path in paths:
        text = path.read_text()
        name = str(path.relative_to(ROOT)) if path.is_relative_to(ROOT) else str(path)
        yield from _of_python(text, name) if path.suffix == ".py" else _of_template(text, name)


def _of_template(text: str, name: str) -> Iterator[Message]:
    for function, *found in _CALL.findall(templatize(text, origin=name)):
        texts = [ast.literal_eval(each) for each in found if each]
        context = texts.pop(0) if "pgettext" in function else ""
        plural = texts[1] if function.startswith("n") else ""
        # In a template a percent sign stands twice in the catalog only before a name.
        yield Message(texts[0], plural, context, name)


def _of_python(text: str, name: str) -> Iterator[Message]:
    for node in ast.walk(ast.parse(text)):
        if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Name):
            continue
        function = node.func.id
        if function not in FUNCTIONS:
            continue
        texts = [_constant(each, name) for each in node.args if not isinstance(each, ast.Starred)]
        context = str(texts.pop(0)) if function.startswith("pgettext") else ""
        if texts and texts[0] is not None:
            plural = texts[1] if FUNCTIONS[function] == 2 else ""
            yield Message(texts[0], plural or "", context, name)


def _constant(node: ast.expr, name: str) -> str | None:
    if isinstance(node, ast.JoinedStr):
        raise AssertionError(f"{name}:{node.lineno}: an f-string is not found in any catalog")
    return node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else None

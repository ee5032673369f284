"""Sentences of the pure packages in the reader's language.

The engine and the other packages that know no Django speak English, and their sentences are
stored and compared. So they are not translated where they are made, but where they are shown:
each is recognised by its pattern, what stood in the braces is taken out and, where it is a
sentence itself, translated too.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from django.utils.functional import Promise
from django.utils.translation import get_language, gettext, override

_BRACES = re.compile(r"\{([a-z_][a-z0-9_]*)\}")
_SENTENCES = re.compile(r"(?<=[.!?…。]) (?=[“\"A-Z0-9])")
_ENDS = (".", "!", "?", "…", "。")
_FEWEST_LETTERS = 2


@dataclass(frozen=True)
class _Pattern:
    """A msgid, what recognises it, and its longest literal piece, which is looked for first."""

    msgid: str
    matches: re.Pattern[str]
    piece: str
    values: Mapping[str, Callable[[str], str]]


@dataclass
class _Known:
    patterns: list[_Pattern] = field(default_factory=list)
    seen: set[str] = field(default_factory=set)


_known = _Known()


def register_said(
    msgids: Iterable[str],
    values: Mapping[str, Callable[[str], str]] | None = None,
    forms: Mapping[str, str] | None = None,
) -> None:
    """Add the patterns of a package: texts with ``{name}`` where a value stands.

    ``values`` says what stands in braces of that name in the active language, such as a day or a
    list of names; any other value is said as a sentence is. ``forms`` are regular expressions
    without named groups for what may stand there; anything may where there is none.
    """
    for msgid in msgids:
        if msgid not in _known.seen:
            _known.seen.add(msgid)
            _known.patterns.append(_pattern(msgid, values or {}, forms or {}))
    # What says most by its own letters is tried first.
    _known.patterns.sort(key=lambda each: -len(_BRACES.sub("", each.msgid)))
    _said.cache_clear()


def said(text: str) -> str:
    """Return an English sentence of a pure package in the active language.

    Several sentences in a row are taken one by one, and one may come after what it is about and a
    colon. What no pattern knows stays as it is: a title, a name, a quantity.
    """
    language = get_language() or "en"
    return text if language.split("-")[0] == "en" or not text else _said(language, text)


def english(text: str | Promise) -> str:
    """Return a text that is translated where it is shown, such as a label, as it is stored."""
    with override("en"):
        return str(text)


def unknown(text: str) -> bool:
    """Say whether no pattern knows ``text``, nor each of the sentences in it; for tests."""
    return _match(text) is None and not all(map(_one, _sentences(text)))


@lru_cache(maxsize=20_000)
def _said(language: str, text: str) -> str:
    whole = _match(text, within=True)
    if whole is not None:
        return _filled(language, whole)
    parts = _sentences(text)
    if len(parts) > 1 and any(map(_one, parts)):
        return " ".join(_said(language, part) for part in parts)
    if (led := _led(text)) is not None:
        lead, found = led
        return f"{_said(language, lead)}: {_filled(language, found)}"
    anyhow = _match(text)
    return text if anyhow is None else _filled(language, anyhow)


def _sentences(text: str) -> list[str]:
    """The sentences of a text; what is quoted within one stays in it."""
    found: list[str] = []
    for part in _SENTENCES.split(text):
        if found and found[-1].count("“") > found[-1].count("”"):
            found[-1] += f" {part}"
        else:
            found.append(part)
    return found


_Found = tuple[_Pattern, dict[str, str]]


def _filled(language: str, found: _Found) -> str:
    pattern, values = found
    told = {
        name: pattern.values[name](value) if name in pattern.values else _said(language, value)
        for name, value in values.items()
    }
    return _BRACES.sub(lambda name: told[name[1]], gettext(pattern.msgid))


def _one(text: str) -> bool:
    return _match(text) is not None or _led(text) is not None


def _led(text: str) -> tuple[str, _Found] | None:
    """What a sentence is about, and the sentence after the colon; None where none is known."""
    for colon in re.finditer(": ", text):
        found = _match(text[colon.end() :], within=True)
        # A word alone is a title's own; a sentence ends, or with whatever somebody wrote.
        if found is not None and (text.endswith(_ENDS) or found[0].msgid.endswith("}")):
            return text[: colon.start()], found
    return None


def _match(text: str, *, within: bool = False) -> _Found | None:
    """The pattern that knows a text; ``within`` leaves out those with sentences in a value."""
    for pattern in _known.patterns:
        if pattern.piece in text and (found := pattern.matches.fullmatch(text)):
            values = found.groupdict()
            if not (within and any(len(_sentences(value)) > 1 for value in values.values())):
                return pattern, values
    return None


def _pattern(
    msgid: str, values: Mapping[str, Callable[[str], str]], forms: Mapping[str, str]
) -> _Pattern:
    pieces = _BRACES.split(msgid)
    literal, names = pieces[::2], pieces[1::2]
    if sum(each.isalpha() for piece in literal for each in piece) < _FEWEST_LETTERS:
        raise ValueError(f"“{msgid}” has no words of its own to be recognised by.")
    if len(set(names)) < len(names):
        raise ValueError(f"“{msgid}” names a value twice.")
    text = re.escape(literal[0])
    for name, piece in zip(names, literal[1:], strict=True):
        text += f"(?P<{name}>{forms.get(name, '.*?')}){re.escape(piece)}"
    return _Pattern(msgid, re.compile(text, re.DOTALL), max(literal, key=len), values)

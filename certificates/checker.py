"""Making the checker: one page with all that it needs, which checks records without a server."""

import base64
import hashlib
import json
import re
from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from django.template.loader import render_to_string
from django.utils.translation import override

from certificates.queries import steps
from certificates.signing import verdict
from certificates.signing.verify import MAX_BYTES

# Each after those that it needs. They share one scope once joined, so no two use a name alike.
MODULES = (
    "bytes",
    "der",
    "ecdsa",
    "certificates",
    "container",
    "objects",
    "document",
    "canonical",
    "check",
    "app",
)
IMPORT = re.compile(r"^import \{[^}]*\} from \"\./\w+\.js\";\n", re.MULTILINE)
EXPORT = re.compile(r"^export (?=const |function |async function |class )", re.MULTILINE)

OTHER_STANDARD = (
    "The passing standard inside the record is not the one whose digest it names. Ask the issuer."
)
STAMP = (
    "The time-stamp: it belongs to the signature, but who made it was not looked at. The check by "
    "file on the issuer's server does."
)
CLAIMS = "The signature names “{}”. Anybody can write that; nothing here vouches for it."
NOT = (
    "Whether the record was suspended, withdrawn or replaced since, and whether the issuer's key "
    "was declared unsafe: only the issuer's server knows. Check the number there.",
    "That the person before you is the holder: compare the name with an identity document.",
    "That a paper in your hand says what this file says: compare it.",
    "Work outside the scope and the conditions named in the record, and what the holder can do "
    "today.",
)
CONTENT_OF_SUBMITTAL = "A readable submittal of a contractor is inside the file."
NOT_OF_SUBMITTAL = (
    "How the records that it names stand today, and whether a later submittal took its place: "
    "check each number, and ask the contractor.",
    "The records themselves: each has files of its own, which are checked here as well.",
    "That a paper in your hand says what this file says: compare it.",
)
NAMES = {name: text for name, text in vars(verdict).items() if name.isupper()}


def checker_page(
    sources: Path, roots: Sequence[x509.Certificate], *, origin: str, made: datetime
) -> str:
    """Return the page as HTML. ``sources`` holds its modules and stylesheet; ``roots`` go inside.

    ``origin`` is the address of this server. The page forbids itself every connection
    (Content Security Policy Level 3, by the digests of its own script and style).
    """
    script = f"\n{joined(sources)}"
    style = f"\n{(sources / 'checker.css').read_text()}"
    # Its script, which a file cannot look up in a catalog, speaks English: so does the page.
    with override("en"):
        return render_to_string(
            "certificates/checker.html",
            {
                "made": made,
                "origin": origin,
                "script": script,
                "script_hash": _source_hash(script),
                "style": style,
                "style_hash": _source_hash(style),
                "told": _inside_html(_told(roots, origin)),
            },
        )


def joined(sources: Path) -> str:
    """Return all modules as one: each without its imports and the word ``export``."""
    texts = [(sources / f"{name}.js").read_text() for name in MODULES]
    return "".join(EXPORT.sub("", IMPORT.sub("", text)) for text in texts)


def _told(roots: Sequence[x509.Certificate], origin: str) -> dict[str, object]:
    """Return the words and the roots that the page shows: the same words as the server's."""
    return {
        "origin": origin,
        "roots": [root.public_bytes(Encoding.PEM).decode() for root in roots],
        "largest": MAX_BYTES,
        "sentences": {**NAMES, "OTHER_STANDARD": OTHER_STANDARD},
        "stepOf": {
            **{name: steps.STEP_OF[text] for name, text in NAMES.items()},
            "OTHER_STANDARD": steps.CONTENT,
        },
        "steps": _steps(steps.TITLES),
        "stepsOfSubmittal": _steps({**steps.TITLES, steps.CONTENT: CONTENT_OF_SUBMITTAL}),
        "toDo": {key: steps.TO_DO[key] for key in steps.OFFLINE},
        "not": NOT,
        "notOfSubmittal": NOT_OF_SUBMITTAL,
        "stamp": STAMP,
        "claims": CLAIMS,
    }


def _steps(titles: Mapping[str, str]) -> list[dict[str, str]]:
    return [{"key": key, "title": titles[key]} for key in steps.OFFLINE]


def _inside_html(told: dict[str, object]) -> str:
    """Return JSON that cannot end the element that it stands in."""
    return json.dumps(told, ensure_ascii=False).replace("<", "\\u003c")


def _source_hash(text: str) -> str:
    return f"sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}"

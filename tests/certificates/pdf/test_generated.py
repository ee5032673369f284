"""Two hundred generated records: both documents of each conform once they are signed."""

import hashlib
import random
from functools import cache
from io import BytesIO
from typing import Any

import pikepdf
import pytest

from certificates.rendering import KINDS, render
from certificates.signing import KeyStore, verify
from tests.certificates.pdf.conftest import CHECKED_AT, sign_it
from tests.certificates.pdf.factory import Document, make_record
from tests.certificates.pdf.names import random_name
from tests.certificates.pdf.photographs import photograph, row
from tests.certificates.pdf.test_conformance import ACCESS, ARCHIVE, faults
from tests.faults.marks import slow

RECORDS = 200
# Bytes, without photographs: of a plain record, and of one whose names are of several scripts, each
# of which brings a typeface.
USUAL, LARGEST = 120_000, 160_000
SUBJECTS = [
    ("criterion", "face"),
    ("criterion", "bed"),
    ("criterion", "joint"),
    ("hold_point", "dry_fit"),
]


@cache
def pictures() -> list[bytes]:
    """Photographs to choose from, made once."""
    return [photograph(900, 600), photograph(600, 900)]


def generated(choice: random.Random) -> tuple[Document, dict[str, bytes]]:
    """A record with names, lists and photographs as chance has them, and the photographs."""
    plain = make_record()
    assessors = [{**one, "name": random_name(choice)} for one in plain["assessors"]]
    outcomes: list[dict[str, Any]] = [
        choice.choice(plain["outcomes"]) for _ in range(choice.randint(1, 30))
    ]
    conditions = [
        {"name": f"Condition {number}", "value": " ".join(["of the work"] * choice.randint(1, 6))}
        for number in range(choice.randint(0, 25))
    ]
    photos, given = [], {}
    for number in range(choice.choice([0, 0, 1, 4])):
        data = choice.choice(pictures())
        photos.append(row(data, *choice.choice(SUBJECTS), number))
        if choice.random() < 0.8:
            given[hashlib.sha256(data).hexdigest()] = data
    record = make_record(
        holder={"name": random_name(choice)},
        issuer={"name": random_name(choice), "address": random_name(choice)},
        course_run={**plain["course_run"], "site": random_name(choice)},
        sealed_by=random_name(choice),
        assessors=assessors,
        outcomes=outcomes,
        conditions=conditions,
        valid_until=choice.choice([None, "2029-09-28"]),
        replaces=choice.choice([None, "AAAA-BBBB-CCCC-DDDD"]),
        **({"photos": photos} if photos else {}),
    )
    return record, given


@pytest.mark.faults
@pytest.mark.parametrize(
    "seed", [0, *(pytest.param(seed, marks=slow) for seed in range(1, RECORDS))]
)
def test_both_documents_conform(seed: int, keystore: KeyStore) -> None:
    choice = random.Random(seed)
    record, given = generated(choice)
    paper = choice.choice(["letter", "a4"])
    for kind in KINDS:
        signed = sign_it(render(record, kind=kind, paper=paper, photographs=given), keystore)
        assert [faults(signed, profile) for profile in (ARCHIVE, ACCESS)] == [[], []]
        verdict = verify(signed, keystore.roots(), now=CHECKED_AT)
        assert verdict.faults == []
        assert verdict.record == record
        with pikepdf.open(BytesIO(signed)) as pdf:
            assert (len(pdf.pages) == 1) == (kind == "certificate")
        if not given:
            assert len(signed) <= LARGEST


def test_a_plain_record_is_small(keystore: KeyStore) -> None:
    sizes = [len(sign_it(render(make_record(), kind=kind), keystore)) for kind in KINDS]
    assert max(sizes) <= USUAL

"""Making a decision again from the file alone."""

import copy
import os
import subprocess
import sys
from collections.abc import Callable
from datetime import datetime
from io import StringIO
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from assessments.engine import decide
from assessments.engine.canonical import canonical
from certificates.keys import keystore_of
from certificates.numbers import EXAMPLE
from certificates.recheck import differences
from certificates.record_document import build_record_document
from certificates.rendering import document as rendering
from certificates.signing import sign
from tests.assessments.builders import make_yard
from tests.certificates.builders import ISSUED, file_of, met_decision
from tests.certificates.conftest import Issued
from training.digests import digest

Document = dict[str, Any]


@pytest.fixture
def file(issued: Issued, tmp_path: Path) -> Path:
    """Return the record's file, saved somewhere by its holder."""
    path = tmp_path / "record.pdf"
    path.write_bytes(file_of(issued.record))
    return path


@pytest.fixture
def root(issued: Issued, tmp_path: Path) -> Path:
    """Return the issuer's root, saved beside the record."""
    path = tmp_path / "root.pem"
    path.write_bytes(keystore_of(issued.yard.provider).roots_pem())
    return path


@pytest.fixture
def document(db: None) -> Document:
    """Return what would be attached to a record, without making its file."""
    return build_record_document(
        decision=met_decision(make_yard()),
        number=EXAMPLE,
        issued_at=ISSUED,
        check_url=f"https://records.example.org/check/{EXAMPLE}/",
    )


def recheck(*args: object) -> str:
    """Run the command; return what it printed."""
    out = StringIO()
    call_command("recheck", *[str(arg) for arg in args], stdout=out)
    return out.getvalue()


def refused(*args: object) -> tuple[str, int]:
    """Run the command, which must fail; return what it printed and its exit code."""
    out = StringIO()
    with pytest.raises(CommandError) as error:
        call_command("recheck", *[str(arg) for arg in args], stdout=out)
    return out.getvalue() + str(error.value), error.value.returncode


def signed_anew(
    issued: Issued, path: Path, document: Document | None = None, issuer: Any = None
) -> Path:
    """Save the record signed anew by its issuer (or ``issuer``), with ``document`` attached."""
    attached = canonical(document or issued.record.document)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(rendering, "canonical", SimpleNamespace(canonical=lambda _: attached))
        pdf = rendering.render(issued.record.document, paper="letter")
    signed = sign(
        pdf,
        keystore_of(issuer or issued.yard.provider),
        signing_time=issued.record.issued_at,
        reason="Record",
        location="Yard",
    )
    path.write_bytes(signed)
    return path


def test_a_genuine_file_agrees(issued: Issued, file: Path, root: Path) -> None:
    for said in (recheck(file, "--root", root), recheck(file)):
        assert f"{file}: agrees" in said
        assert issued.record.number in said
        assert "met, as stated" in said
        assert "not checked: whether it was suspended, withdrawn or replaced" in said
        assert issued.record.document["check_url"] in said


def test_it_needs_neither_database_nor_passphrase(file: Path, root: Path) -> None:
    # A server that is not there: whatever connects to it fails at once.
    environment = {
        **{name: text for name, text in os.environ.items() if name != "BANKERMARK_TEST_DB"},
        "DATABASE_URL": "postgresql://nobody@127.0.0.1:1/nothing",
    }
    done = subprocess.run(
        [sys.executable, "manage.py", "recheck", str(file), "--root", str(root)],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert "agrees" in done.stdout


def test_the_files_are_told_one_by_one(file: Path, root: Path, tmp_path: Path) -> None:
    bad = tmp_path / "bad.pdf"
    pdf = bytearray(file.read_bytes())
    pdf[len(pdf) // 2] ^= 1
    bad.write_bytes(pdf)
    said, code = refused(file, bad, tmp_path / "none.pdf", "--root", root)
    assert code == 1
    assert f"{file}: agrees" in said
    assert f"{bad}: does not pass" in said
    assert "none.pdf: does not pass" in said
    assert "No such file" in said
    assert "2 of 3 did not pass" in said


def test_signed_by_somebody_else(issued: Issued, root: Path, tmp_path: Path) -> None:
    other = make_yard().provider
    path = signed_anew(issued, tmp_path / "other.pdf", issuer=other)
    said, code = refused(path, "--root", root)
    assert code == 1
    assert "an issuer that is not known here" in said


def lower_score(document: Document) -> None:
    document["decision"]["overall"]["score"] = "3/4"


def dropped_reason(document: Document) -> None:
    document["decision"]["trace"] = document["decision"]["trace"][:-1]


def worse_observation(document: Document) -> None:
    rows = document["observations"]["observations"]
    next(row for row in rows if row["subject"]["key"] == "C3")["value"]["answer"] = False


def softer_standard(document: Document) -> None:
    document["standard"]["pass_rule"]["cut"] = "0.1"


def softer_standard_with_its_digest(document: Document) -> None:
    softer_standard(document)
    document["standard_digest"] = digest(document["standard"])


def better_outcome(document: Document) -> None:
    document["outcomes"][0]["score"] = "1/2"


def other_statement(document: Document) -> None:
    document["outcomes"][0]["statement"] = "Sets any stone"


def other_program(document: Document) -> None:
    document["program"]["version"] = 9


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lower_score, "differs at overall"),
        (dropped_reason, "differs at trace"),
        (worse_observation, "the record says met, the decision made again not_yet_met"),
        (softer_standard, "not the one whose digest it names"),
        (softer_standard_with_its_digest, "names the digest of another standard"),
        (better_outcome, "the outcomes on the record"),
        (other_statement, "the outcomes on the record"),
        (other_program, "the program's version"),
    ],
)
def test_a_change_shows(document: Document, change: Callable[[Document], None], said: str) -> None:
    assert differences(document) == []
    change(document)
    assert said in " ".join(differences(document))


def test_a_change_shows_even_when_the_issuer_signed_it(
    issued: Issued, root: Path, tmp_path: Path
) -> None:
    document = copy.deepcopy(issued.record.document)
    worse_observation(document)
    path = signed_anew(issued, tmp_path / "changed.pdf", document)
    told, code = refused(path, "--root", root)
    assert code == 1
    assert "does not agree with itself" in told
    assert "the record says met, the decision made again not_yet_met" in told


@pytest.mark.parametrize(
    ("broken", "said"),
    [
        ({"schema": "bankermark/record/2"}, "this program reads bankermark/record/1"),
        ({"standard": {}}, "cannot be made again"),
        ({"standard": None}, "cannot be made again"),
        ({"observations": {"schema": "x"}}, "cannot be made again"),
        ({"decision": []}, "missing or malformed"),
        ({"outcomes": None}, "the outcomes on the record"),
        ({"program": "DUTCHMAN"}, "missing or malformed"),
    ],
)
def test_a_malformed_record_is_an_answer_not_an_accident(
    document: Document, broken: Document, said: str
) -> None:
    assert said in " ".join(differences({**document, **broken}))


def test_a_later_engine_that_decides_the_same_agrees(document: Document) -> None:
    document["decision"]["engine"] = "0.9"
    assert decide(document["standard"], document["observations"])["engine"] != "0.9"
    assert differences(document) == []


def test_roots_that_cannot_be_used(file: Path, tmp_path: Path, settings: Any) -> None:
    said, code = refused(file, "--root", tmp_path / "gone.pem")
    assert (code, "gone.pem cannot be read" in said) == (2, True)
    said, code = refused(file, "--root", file)
    assert (code, "holds no certificate" in said) == (2, True)
    settings.KEY_FOLDER = tmp_path / "nowhere"
    said, code = refused(file)
    assert (code, "name one with --root" in said) == (2, True)


def test_the_time_of_issue_is_in_the_signature(issued: Issued, file: Path, root: Path) -> None:
    when = datetime.fromisoformat(issued.record.document["issued_at"])
    assert when == issued.record.issued_at
    assert issued.record.document["issued_at"] in recheck(file, "--root", root)

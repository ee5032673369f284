"""Records that cannot be rendered are refused in words."""

import pytest
from weasyprint.text.fonts import FontConfiguration

from certificates.rendering import RenderingError, document, render
from certificates.signing.signer import AMBIGUOUS_END
from tests.certificates.pdf.factory import Document, make_record


def test_only_a_met_standard_becomes_a_record() -> None:
    with pytest.raises(RenderingError, match="Only a decision that the passing standard was met"):
        render(make_record(result="not_yet_met"))


def test_letters_that_no_font_has_are_named() -> None:
    # U+1FAE8 is younger than the fonts of Debian 12, and no letter of a name.
    with pytest.raises(RenderingError, match="No font on this machine has \U0001fae8: install"):
        render(make_record(holder={"name": "Ana \U0001fae8"}))


def test_documents_are_named() -> None:
    with pytest.raises(RenderingError, match="no document 'diploma' here: use certificate or"):
        render(make_record(), kind="diploma")  # type: ignore[arg-type]


def test_a_certificate_that_does_not_fit_is_refused() -> None:
    record = make_record(issuer={"name": "Yard " * 200, "address": ""})
    with pytest.raises(RenderingError, match=r"does not fit on one page: .* Shorten the longest"):
        render(record)


def test_papers_are_named() -> None:
    with pytest.raises(RenderingError, match="no paper 'a5' here: use letter or a4"):
        render(make_record(), paper="a5")


def test_a_missing_member_is_named() -> None:
    record = make_record()
    del record["sealed_by"]
    with pytest.raises(RenderingError, match="lacks 'sealed_by'"):
        render(record)


def test_an_unknown_result_is_named() -> None:
    record = make_record()
    record["outcomes"][0]["result"] = "splendid"
    with pytest.raises(RenderingError, match="result 'splendid' that is not known"):
        render(record)


@pytest.mark.parametrize("part", ["standard_digest", "decision"])
def test_another_standard_is_refused(part: str) -> None:
    record: Document = make_record()
    if part == "decision":
        record["decision"]["standard_digest"] = "0" * 64
    else:
        record["standard_digest"] = "0" * 64
    with pytest.raises(RenderingError, match="digest of the standard"):
        render(record, kind="competency")


def test_observations_that_the_engine_refuses_are_refused() -> None:
    record = make_record()
    record["observations"]["observations"][0]["value"] = {"readings": "none"}
    record["observations"]["observations"][1]["value"] = {"answer": "perhaps"}
    with pytest.raises(RenderingError, match=r"observations\[1\].*build it again"):
        render(record, kind="competency")


def test_a_stream_that_ends_like_a_line_is_written_again(monkeypatch: pytest.MonkeyPatch) -> None:
    tries = []

    def write(laid_out: object, record: Document, padding: int) -> bytes:
        tries.append(padding)
        return AMBIGUOUS_END if padding < 2 else b"clear"

    monkeypatch.setattr(document, "_write", write)
    assert render(make_record()) == b"clear"
    assert tries == [0, 1, 2]


def test_padding_changes_every_stream_that_is_packed_last() -> None:
    # Each of them may end like a line end, and would do so for ever if padding left it alone.
    record = make_record()
    laid_out = document._one_page(record, "letter", FontConfiguration())
    plain, padded = (document._write(laid_out, record, padding) for padding in (0, 1))
    for kind in (b"/ObjStm", b"/XRef"):
        assert packed(plain, kind) != packed(padded, kind)


def packed(pdf: bytes, kind: bytes) -> bytes:
    """Return the bytes of the stream of this type, of which there is one."""
    (found,) = (part for part in pdf.split(b"endobj") if kind in part.partition(b"stream")[0])
    return found.partition(b"stream")[2]

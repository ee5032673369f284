"""Nobody can change a stamped file unseen: neither the stamp nor the evidence, nor their dress."""

import random
from collections.abc import Callable
from datetime import timedelta
from io import BytesIO

import pytest
from asn1crypto import cms
from pyhanko.pdf_utils.reader import PdfFileReader

from certificates.signing import KeyStore, signer, stamping, verdict
from tests.certificates.pdf.conftest import SIGNED_AT
from tests.certificates.signing.authority import Office, opened
from tests.certificates.signing.stamped import check, stamp_it, token_in
from tests.certificates.signing.test_tampering import SEED, _flip, gap_of
from tests.faults.marks import at_length

FLIPS = [60, *at_length(150)]


def container_of(pdf: bytes) -> bytes:
    """The whole signature in DER, without the zeros that fill up its room."""
    (signature,) = PdfFileReader(BytesIO(pdf)).embedded_signatures
    der: bytes = cms.ContentInfo.load(signature.pkcs7_content).dump()
    return der


def with_container(pdf: bytes, container: bytes) -> bytes:
    """The same file with another signature in the same room."""
    gap = gap_of(pdf)
    room = gap.stop - gap.start - 2
    digits = container.hex().upper().encode()
    assert len(digits) <= room
    return pdf[: gap.start] + b"<" + digits.ljust(room, b"0") + b">" + pdf[gap.stop :]


@pytest.mark.parametrize("flips", FLIPS)
def test_no_flipped_bit_is_accepted(
    stamped: bytes, keystore: KeyStore, office: Office, flips: int
) -> None:
    """Over the whole file, and more of them in the container, where the time-stamp is."""
    chance = random.Random(SEED)
    gap = gap_of(stamped)
    made = range(gap.start, gap.start + 2 * len(container_of(stamped)))
    places = [*chance.sample(made, flips), *chance.sample(range(len(stamped)), flips)]
    accepted = [
        place for place in places if check(_flip(stamped, place, chance), keystore, office).genuine
    ]
    assert accepted == []


@pytest.mark.parametrize("flips", FLIPS)
def test_no_changed_byte_of_the_stamp_is_accepted_by_who_does_not_know_the_authority(
    stamped: bytes, keystore: KeyStore, office: Office, flips: int
) -> None:
    whole, token = container_of(stamped), token_in(stamped)
    start = whole.index(token)
    chance = random.Random(SEED)
    for place in chance.sample(range(start, start + len(token)), flips // 2):
        changed = with_container(stamped, _flip(whole, place, chance))
        assert not check(changed, keystore, office, stamp_roots=[]).genuine


def _info_of(container: cms.ContentInfo) -> cms.SignerInfo:
    (info,) = container["content"]["signer_infos"]
    return info


def _no_stamp(container: cms.ContentInfo) -> None:
    del _info_of(container)["unsigned_attrs"]


def _two_stamps(container: cms.ContentInfo) -> None:
    attribute = _info_of(container)["unsigned_attrs"][0]
    attribute["values"].append(attribute["values"][0].copy())


def _a_remark_beside(container: cms.ContentInfo) -> None:
    remark = cms.CMSAttribute({"type": "1.2.3.4", "values": []})
    _info_of(container)["unsigned_attrs"].append(remark)


def _a_certificate_less(container: cms.ContentInfo) -> None:
    _token_of(container)["content"]["certificates"] = []


def _a_certificate_more(container: cms.ContentInfo) -> None:
    extra = container["content"]["certificates"][0].copy()
    _token_of(container)["content"]["certificates"].append(extra)


def _another_name_for_the_algorithm(container: cms.ContentInfo) -> None:
    (info,) = _token_of(container)["content"]["signer_infos"]
    assert info["signature_algorithm"]["algorithm"].native == "rsassa_pkcs1v15"
    info["signature_algorithm"] = {"algorithm": "sha256_rsa"}


def _an_unsigned_attribute_in_the_stamp(container: cms.ContentInfo) -> None:
    (info,) = _token_of(container)["content"]["signer_infos"]
    info["unsigned_attrs"] = [{"type": "1.2.3.4", "values": []}]


def _token_of(container: cms.ContentInfo) -> cms.ContentInfo:
    return _info_of(container)["unsigned_attrs"][0]["values"][0]


@pytest.mark.parametrize(
    "change",
    [
        _no_stamp,
        _two_stamps,
        _a_remark_beside,
        _a_certificate_less,
        _a_certificate_more,
        _another_name_for_the_algorithm,
        _an_unsigned_attribute_in_the_stamp,
    ],
)
def test_the_container_has_one_form(
    unsigned: bytes,
    keystore: KeyStore,
    office: Office,
    change: Callable[[cms.ContentInfo], None],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Each of these leaves what is signed as it is; a stamped file keeps its stamp, in one form."""
    monkeypatch.setattr(signer, "TOKEN_SLACK", 3000)
    roomy = stamp_it(unsigned, keystore, office)
    container = cms.ContentInfo.load(container_of(roomy))
    assert check(with_container(roomy, container.dump(force=True)), keystore, office).genuine
    change(container)
    changed = container.dump(force=True)
    assert changed != container_of(roomy)
    found = check(with_container(roomy, changed), keystore, office)
    assert {verdict.NOT_A_RECORD_SIGNATURE, verdict.UNREADABLE} & set(found.faults)


def test_a_second_stamp_of_the_same_signature_changes_nothing_that_is_told(
    unsigned: bytes, stamped: bytes, keystore: KeyStore, office: Office
) -> None:
    """Whoever asks the authority again gets a stamp that is as good; the time must still agree."""
    office_again = Office(office.root, office.certificate, office.key, SIGNED_AT)
    with opened(office_again) as served:
        again = stamp_it(unsigned, keystore, served)
        served.at = SIGNED_AT + timedelta(minutes=9)
        late = stamp_it(unsigned, keystore, served)
    assert token_in(again) != token_in(stamped)
    swapped = container_of(stamped).replace(token_in(stamped), token_in(again))
    assert check(with_container(stamped, swapped), keystore, office).genuine
    swapped = container_of(stamped).replace(token_in(stamped), token_in(late))
    assert check(with_container(stamped, swapped), keystore, office).stamped_at == served.at


def test_the_stamp_of_another_file_is_seen(
    unsigned: bytes, stamped: bytes, keystore: KeyStore, office: Office
) -> None:
    other = stamp_it(unsigned, keystore, office, at=SIGNED_AT + timedelta(seconds=1))
    moved = container_of(stamped).replace(token_in(stamped), token_in(other))
    assert len(moved) == len(container_of(stamped))
    found = check(with_container(stamped, moved), keystore, office)
    assert verdict.BAD_STAMP in found.faults


def test_a_stamp_of_another_time_is_at_odds(
    unsigned: bytes, keystore: KeyStore, office: Office, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A key in wrong hands could bear any time; the stamp tells the true one."""
    monkeypatch.setattr(stamping, "CLOCK_ALLOWANCE", timedelta(days=9))
    backdated = stamp_it(unsigned, keystore, office, at=SIGNED_AT - timedelta(hours=1))
    found = check(backdated, keystore, office)
    assert found.faults == [verdict.STAMP_AT_ODDS]
    assert found.stamped_at is None

"""Print, for every attack, who accepts it. Run ``python -m tests.certificates.tamper.table``."""

import os
from pathlib import Path
from tempfile import TemporaryDirectory

import django


def main() -> None:
    """One row for each attack, and the genuine file first."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    django.setup()
    # Both need the set-up above.
    from certificates.signing import KeyStore
    from tests.certificates.pdf.conftest import PASSPHRASE
    from tests.certificates.tamper.corpus import ATTACKS
    from tests.certificates.tamper.judges import JUDGES
    from tests.certificates.tamper.subjects import make_subject

    with TemporaryDirectory() as folder:
        keystore = KeyStore(Path(folder) / "keys", PASSPHRASE, organisation="Ashlar Row")
        subject = make_subject(keystore)
        files = {"(the genuine file)": subject.pdf}
        files |= {name: attack(subject).after for name, attack in ATTACKS.items()}
        print("| file | ours |", " | ".join(JUDGES), "| what ours says |")
        print("|---" * (len(JUDGES) + 3) + "|")
        for name, pdf in files.items():
            verdict = subject.verdict(pdf)
            said = [verdict.genuine, *(judge(pdf, keystore) for judge in JUDGES.values())]
            words = " | ".join("accepts" if yes else "no" for yes in said)
            print(f"| {name} | {words} | {' '.join(verdict.faults)} |")


if __name__ == "__main__":
    main()

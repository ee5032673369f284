"""What is said of records and kept or compared in English, known by its patterns.

A verdict is made in a process of its own and sorted by its sentences, and what was refused is
kept with the item of a job: both are translated where they are shown (``training.said``).
"""

from django.utils.translation import gettext_noop as N_

from certificates.queries.check import NO_KEYS
from certificates.queries.steps import OTHER_RECORD, TITLES, TO_DO, UNLISTED
from certificates.stored import CHANGED, ERASED, MISSING

# As certificates.signing.verdict and certificates.sandbox have them.
VERDICTS = (
    N_("This file is not a PDF: choose the PDF file of the record itself."),
    N_("This file is larger than any record: choose the PDF file of the record itself."),
    N_("This file is damaged or was not made as a record: it cannot be read to its end."),
    N_("This file is protected by a password; a record never is."),
    N_(
        "This file calls itself a contractor’s submittal, which is no record, and it is not, to "
        "the last byte, one that was submitted here."
    ),
    N_("This file carries no signature."),
    N_("This file carries more than one signature; a record carries exactly one."),
    N_("This file was altered after it was signed."),
    N_("The signature does not cover the whole file: something was added or cut off."),
    N_("The signature was not made with the key that it names."),
    N_("The signature is not of the kind that closes a record against changes."),
    N_("The signature was made by an issuer that is not known here."),
    N_("The signature bears a time at which the signer's certificate was not valid."),
    N_("The signature bears a time that has not come yet."),
    N_("The time-stamp and the time that the signature bears differ by more than minutes."),
    N_("The time-stamp does not belong to this signature, or is not as it was made."),
    N_(
        "The issuer has revoked the certificate that this file was signed with, and no trusted "
        "time-stamp shows that it was signed before that."
    ),
    N_("This file was signed after the moment from which its issuer's key was no longer trusted."),
    N_("The file is signed, but carries no readable record."),
    N_(
        "This file says that it has more than {number} pages; a record has far fewer. Choose the "
        "PDF file of the record itself."
    ),
    N_(
        "This file was given up: reading it took many times the time or memory that a record "
        "takes, so it is no record, or it is damaged."
    ),
    N_("Many files are being checked at this moment. Send yours again in a minute."),
    N_("This is the file of record {number}, not of {asked}."),
)

# As certificates.actions.issue, issue_item and follow_review have them, with what they pass on.
KEPT = (
    N_("Nobody issues the own record: ask another lead or instructor of the run."),
    N_("This person's data was erased: no record is issued any more."),
    N_("This decision was made anew. Issue the record from the one that counts now."),
    N_("This attempt is not signed off, so there is nothing to issue a record of."),
    N_("The result is “{result}”: a record is issued only when the passing standard was met."),
    N_("No record can be issued from this decision: {wrong}."),
    N_("Nothing was issued. {error}"),
    N_(
        "The record cannot be signed: the issuing key of this server cannot be used. "
        "Nothing was issued; ask whoever runs the server to look at its log."
    ),
    N_("Another record of this attempt was issued at this moment. Try once more."),
    N_("The issuing key was given up at this moment. Try once more."),
    N_("{person} neither leads nor teaches this run any longer."),
    N_(
        "This was begun {number} times and never came to an end. Whoever runs the server finds "
        "the reason in the log of the workers; ask for the record again once it is mended."
    ),
    N_("A review made the attempt void: {answer}"),
    N_(
        "A photograph of the attempt cannot be read from the storage. Ask whoever runs the "
        "server to look at its log."
    ),
    N_(
        "A photograph of the attempt was changed in the storage since it was taken in. Ask "
        "whoever runs the server to put it back."
    ),
    N_(
        "A photograph of the attempt cannot be read as a JPEG. Ask whoever runs the server "
        "to put back the file that was taken in."
    ),
    N_("The attempt has more photographs than a record can hold."),
    N_(
        "The certificate does not fit on one page: the names of the program, the issuer, the "
        "site or the assessors are too long for it. Shorten the longest, then issue again."
    ),
    N_(
        "No font on this machine has {letters}: install one for this script (Debian: "
        "fonts-noto-core, for Chinese, Japanese and Korean fonts-noto-cjk)."
    ),
)

OF_RECORDS = (
    *VERDICTS,
    *KEPT,
    *TITLES.values(),
    *TO_DO.values(),
    UNLISTED,
    OTHER_RECORD,
    NO_KEYS,
    MISSING,
    CHANGED,
    ERASED,
)

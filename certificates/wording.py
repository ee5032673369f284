"""What the crew's pages say, in the reader's language: days, lists, and the coverage's sentences.

``certificates.coverage`` is pure and speaks English, and submittals keep its sentences. So they
are known here by their patterns and translated where they are shown (``training.said``).
"""

import re
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from datetime import date, datetime

from django.utils.formats import date_format, number_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_
from django.utils.translation import ngettext

from certificates.coverage.wording import MOST, WORDS, titled

SAID = (
    N_("From {day} not every post can be filled."),
    N_("The day before was the last for {people} at post {posts}."),
    N_("The day before was the last for {people} at posts {posts}."),
    N_("Post {posts} begins on this day."),
    N_("Posts {posts} begin on this day."),
    N_("Every place is filled by a qualified mason on every day."),
    N_("Post {posts} needs {masons}; {clause}."),
    N_("Posts {posts} need {masons}; {clause}."),
    N_("besides {people}, who is counted above, {clause}"),
    N_("besides {people}, who are counted above, {clause}"),
    N_("nobody is qualified for it"),
    N_("nobody is qualified for either"),
    N_("nobody is qualified for any of them"),
    N_("only {number} is qualified for it: {people}"),
    N_("only {number} are qualified for it: {people}"),
    N_("only {number} is qualified for either: {people}"),
    N_("only {number} are qualified for either: {people}"),
    N_("only {number} is qualified for any of them: {people}"),
    N_("only {number} are qualified for any of them: {people}"),
)
"""The sentences about gaps and days not covered, and the clauses of which they are made."""

# As certificates.coverage.wording.WORDS has them.
NUMBERS = (
    N_("none"), N_("one"), N_("two"), N_("three"), N_("four"), N_("five"), N_("six"), N_("seven"),
    N_("eight"), N_("nine"), N_("ten"), N_("eleven"), N_("twelve"),
)  # fmt: skip
_TITLE = re.compile(r"“[^”]*”|[^\s,]+")
_MORE = re.compile(r"(\d+) more")
_LEAD = re.compile(r"(“?)([^\s,“]+), lead(”?)")


def day(value: date) -> str:
    """A day with its month in words.

    >>> day(date(2026, 5, 4))
    '4 May 2026'
    """
    return date_format(value)


def short_day(value: date | None) -> str:
    """A day with its month cut short.

    >>> short_day(date(2026, 9, 4))
    '04 Sep 2026'
    """
    return date_format(value, "d M Y") if value else ""


def weekday(value: date) -> str:
    """A day with the day of the week.

    >>> weekday(date(2026, 5, 4))
    'Monday 4 May 2026'
    """
    return date_format(value, "WEEKDAY_FORMAT")


def count(number: int) -> str:
    """The number in a sentence, up to twelve as a word.

    >>> count(3), count(13), count(5000)
    ('three', '13', '5,000')
    """
    if number < len(NUMBERS):
        return _(NUMBERS[number])
    return number_format(number, force_grouping=True)


def masons(number: int) -> str:
    """The number with its noun.

    >>> masons(1), masons(2)
    ('one mason', 'two masons')
    """
    if number == 1:
        return _("one mason")
    return ngettext("{count} mason", "{count} masons", number).format(count=count(number))


def listed(names: Sequence[str]) -> str:
    """The names as a sentence lists them; a long list is cut short.

    >>> listed(["B", "C"]), listed([str(number) for number in range(9)])
    ('B and C', '0, 1, 2, 3, 4 and 4 more')
    """
    shown = list(names)
    if len(shown) > MOST:
        more = len(shown) - MOST + 1
        shown = [*shown[: MOST - 1], _("{number} more").format(number=more)]
    return _joined(shown)


def place_title(title: str) -> str:
    """The title of a place: that of a post's leads is its code and a word for them.

    >>> place_title("N-1, lead"), place_title("N-1, Sills")
    ('N-1, lead', 'N-1, Sills')
    """
    found = _LEAD.fullmatch(title)
    return _("{code}, lead").format(code=found[2]) if found else title


def place_named(title: str) -> str:
    """The title of a place after the word "post", in quotation marks where it has several words."""
    return titled(place_title(title))


def _joined(names: Sequence[str]) -> str:
    if len(names) < 2:
        return "".join(names)
    return _("{names} and {last}").format(names=", ".join(names[:-1]), last=names[-1])


def day_again(text: str) -> str:
    """Say a day that was written in English.

    >>> day_again("4 May 2026"), day_again("one day")
    ('4 May 2026', 'one day')
    """
    with suppress(ValueError):
        return day(datetime.strptime(text, "%d %B %Y").date())  # noqa: DTZ007 (a day alone)
    return text


def number_again(text: str) -> str:
    """Say a number that was written in English, as a word or in digits."""
    if text in WORDS:
        return _(NUMBERS[WORDS.index(text)])
    plain = text.replace(",", "")
    return count(int(plain)) if plain.isdecimal() else text


def _masons_again(text: str) -> str:
    number = text.removesuffix("s").removesuffix(" mason")
    if number in WORDS:
        return masons(WORDS.index(number))
    plain = number.replace(",", "")
    return masons(int(plain)) if plain.isdecimal() else text


def _people_again(text: str) -> str:
    """Say an English list of names again; a name keeps the words that it is made of."""
    head, together, last = text.rpartition(" and ")
    return _again([*head.split(", "), last]) if together else text


def _posts_again(text: str) -> str:
    """Say an English list of posts again; a title of several words stands in quotation marks."""
    head, together, last = text.rpartition(" and ")
    if not together or last.count("”") > last.count("“"):
        return _title_again(text)
    return _again([_title_again(each) for each in [*_TITLE.findall(head), last]])


def _again(names: Sequence[str]) -> str:
    more = _MORE.fullmatch(names[-1])
    last = _("{number} more").format(number=more[1]) if more else names[-1]
    return _joined([*names[:-1], last])


def _title_again(text: str) -> str:
    return f"“{place_title(text[1:-1])}”" if text.startswith("“") else text


VALUES: Mapping[str, Callable[[str], str]] = {
    "day": day_again,
    "people": _people_again,
    "posts": _posts_again,
    "masons": _masons_again,
    "number": number_again,
}
"""What may stand in the braces of ``SAID``, said again in the active language."""

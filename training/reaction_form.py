"""What a trainee is asked after a run: statements of our own, and two questions.

A key ends with the version of its words. New words are a new key, so that answers to other
words are never counted together; a key that was ever used is never used for other words.
"""

from dataclasses import dataclass

from django.utils.translation import gettext_noop as N_

LOWEST, HIGHEST = 1, 5
LONGEST_TEXT = 2000
# Fewer answers than this are not shown: they could be told apart by who was there.
SHOWN_FROM = 4
SCALE = (
    (1, N_("1: not at all")),
    (2, "2"),
    (3, N_("3: partly")),
    (4, "4"),
    (5, N_("5: fully")),
)


@dataclass(frozen=True)
class Asked:
    """A statement to agree with, or a question to answer in own words."""

    key: str
    words: str


STATEMENTS = (
    Asked("aim_1", N_("I knew from the first day what I would be assessed on.")),
    Asked("shown_1", N_("The work was shown to me well enough to try it myself.")),
    Asked("practice_1", N_("I had enough time to practise before the assessment.")),
    Asked("told_1", N_("While I practised, I was told what to change and how.")),
    Asked("tools_1", N_("Stone, mortar and tools were there and fit for the work.")),
    Asked("safe_1", N_("I could work safely, and I could say so when I could not.")),
    Asked("fair_1", N_("The assessment was about what I was taught.")),
    Asked("use_1", N_("I will use on my next job what I learned here.")),
)
QUESTIONS = (
    Asked("keep_1", N_("What helped you most?")),
    Asked("change_1", N_("What should be done otherwise next time?")),
)

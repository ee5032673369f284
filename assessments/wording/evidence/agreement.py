"""What is said about the agreement between assessors, and with the scores agreed on."""

from django.utils.translation import gettext_noop as N_

SAID = (
    N_("Agreement between assessors"),
    N_("Same score by all assessors (exact agreement)"),
    N_("At most one level apart (adjacent agreement)"),
    N_("Exact agreement"),
    N_(
        "Scores of one attempt are not independent of each other: the table of intervals "
        "also has one that takes whole attempts."
    ),
    N_("Attempts scored by two or more assessors (number)"),
    N_("Intervals of all criteria together ({how})"),
    N_("bootstrap over attempts, percentile, {level}, {samples} samples, seed {seed}"),
    N_("bootstrap over units, percentile, {level}, {samples} samples, seed {seed}"),
    N_("Share"),
    N_("Scores"),
    N_("Value"),
    N_("Wilson from"),
    N_("Wilson to"),
    N_("Clopper-Pearson from"),
    N_("Clopper-Pearson to"),
    N_("Over attempts from"),
    N_("Over attempts to"),
    N_("No criterion with three or more levels was scored twice: double-score some."),
    N_("Nothing that applies was scored by two assessors."),
    N_("Agreement beyond chance (kappa, met or not met)"),
    N_("Agreement beyond chance (AC1, met or not met)"),
    N_("Agreement beyond chance (alpha, met or not met)"),
    N_("Agreement beyond chance (kappa)"),
    N_("Agreement beyond chance (weighted kappa)"),
    N_("Agreement beyond chance (AC1)"),
    N_("Agreement beyond chance (alpha)"),
    N_("Agreement beyond chance, all levels alike (Brennan-Prediger)"),
    N_("{count} of {total} attempts have criteria scored by two or more assessors."),
    N_(
        "On {share} of these {count} scores they gave exactly the same (exact agreement; "
        "95%: {low} to {high})."
    ),
    N_("Agreement is low on: {titles}."),
    N_("It may be low on {count} criterion."),
    N_("It may be low on {count} criteria."),
    N_("It may be low on {count} further criterion."),
    N_("It may be low on {count} further criteria."),
    N_("No criterion stands out as scored differently."),
    N_("Exact agreement by criterion, with interval (Clopper-Pearson, 95%); dotted: {share}"),
    N_("Exact agreement of assessors by criterion, with interval: {series}."),
    N_("Share of attempts"),
    N_(
        "A criterion is named low where the whole interval (Clopper-Pearson, 95%) of its "
        "exact agreement lies below {share}, perhaps low where the share does but the "
        "interval reaches it."
    ),
    N_("The limit is common practice without a source."),
    N_("Levels are numbered from 0, as on the task sheet."),
    N_(
        "Exact agreement of more than two assessors means all of them; adjacent, that the "
        "two furthest apart are at most one level apart."
    ),
    N_("Criteria with two levels do not count towards adjacent agreement overall."),
    N_(
        "Kappa, AC1 and alpha take off the agreement that chance would bring, each by its "
        "own idea of chance; where nearly all work is met, kappa and alpha fall low although "
        "assessors agree, and AC1 does not."
    ),
    N_(
        "By criterion, a difference of more levels weighs more in kappa (linear weights) and "
        "alpha (ordinal); all criteria together are met or not met."
    ),
    N_(
        "Intervals from resampling are too narrow where they rest on fewer than about ten attempts."
    ),
    N_(
        "Same side of the cut looks at the overall cut and the weights alone: not at "
        "critical criteria, hold points or minimums of outcomes."
    ),
    N_("Only one category is known: name the categories that could be given."),
    N_("none: a single unit"),
    N_("none: the assessors did not vary in agreement"),
    N_("t over units, 95%"),
    N_(
        "Every rating is the same, so agreement cannot be told from chance: double-score "
        "attempts of unlike quality."
    ),
    N_("none: resampling shows no spread"),
    N_(
        "no difference was seen: the lower end is that of exact agreement (Clopper-Pearson, "
        "95%, over attempts), less chance"
    ),
    N_(
        "No reference piece has been scored by this assessor yet: finish one, and its scores "
        "are compared with the agreed ones."
    ),
    N_("Bias against the agreed scores"),
    N_("none: one score only"),
    N_("none: every difference is the same"),
    N_("Scored exactly as agreed"),
    N_("At most one level from the agreed score"),
    N_(
        "No criterion with three or more levels has been scored: use a reference piece with "
        "rated criteria."
    ),
    N_("Compared with the agreed scores"),
    N_("{count} of {total} scores on {pieces} reference piece are exactly as agreed."),
    N_("{count} of {total} scores on {pieces} reference pieces are exactly as agreed."),
    N_("On average the scores are neither higher nor lower (no bias)."),
    N_("On average the scores are {points} higher than agreed (bias)."),
    N_("On average the scores are {points} lower than agreed (bias)."),
    N_(
        "On average the scores are {points} higher than agreed (bias), which so few scores "
        "can show by chance."
    ),
    N_(
        "On average the scores are {points} lower than agreed (bias), which so few scores "
        "can show by chance."
    ),
    N_("Scores of one piece are not independent of each other: take the intervals as a guide."),
    N_("Bias is the mean of given less agreed scores: above 0 is more generous than agreed."),
    N_("Criterion"),
    N_("Exact"),
    N_("Low"),
    N_("High"),
    N_("Bias"),
    N_("Most steps apart"),
    N_("By criterion"),
    N_("When"),
    N_("Piece"),
    N_("Over time"),
    N_("Agreed"),
    N_("Given"),
    N_("Steps apart"),
    N_("Scores that were not as agreed"),
    N_("Perhaps low"),
    N_("Too few attempts to be sure: double-score more."),
    N_(
        "Assessors differ on whether this is met: look together at how it is worded and at "
        "how it is checked."
    ),
    N_(
        "Assessors tell level {pairs} differently ({times}): look at the descriptions of "
        "these levels together."
    ),
    N_("{count} of {total} differences"),
    N_("{count} of {total} differences each"),
    N_("This decides whether the criterion is met."),
    N_("Attempts"),
    N_("Exact from"),
    N_("Exact to"),
    N_("Adjacent"),
    N_("Adjacent from"),
    N_("Adjacent to"),
    N_("Agreement by criterion (Wilson, 95%)"),
    N_("The same, by the exact interval (Clopper-Pearson, 95%)"),
    N_("Kappa"),
    N_("Kappa from"),
    N_("Kappa to"),
    N_("AC1 from"),
    N_("AC1 to"),
    N_("Alpha"),
    N_("Alpha from"),
    N_("Alpha to"),
    N_("Agreement beyond chance by criterion"),
    N_("What could not be computed"),
    N_("Figure"),
    N_("Why"),
    N_("Criteria"),
    N_("Level {number}"),
    N_("{title}: pairs of scores, the lower level by row, the higher by column"),
    N_("Lower level"),
    N_("Agreement"),
    N_("Advice"),
    N_("Criteria to look at together"),
    N_("{figure}: interval"),
    N_(
        "The scores do not vary from attempt to attempt, so there is nothing for assessors "
        "to tell apart: double-score attempts of unlike quality."
    ),
    N_(
        "On average over the assessors all attempts have the same score: double-score "
        "attempts of unlike quality."
    ),
    N_("Agreement on scores (ICC)"),
    N_("Below 0: the attempts differ less than the assessors do."),
    N_("none: too few differences to take it from"),
    N_("Only one attempt was scored by two assessors: double-score more."),
    N_("Standard error of measurement between assessors"),
    N_(
        "Both assessors gave one and the same level throughout, so agreement beyond chance "
        "cannot be told from agreement by chance: double-score attempts of unlike quality."
    ),
    N_("No unit was scored by both assessors: double-score some."),
    N_("none: the assessors never differed"),
    N_("large sample, 95%"),
    N_(
        "No attempt was scored on every criterion by two assessors: let two assessors score "
        "the same attempts in full, each alone."
    ),
    N_("Agreement on the overall score, one assessor"),
    N_("Agreement on the overall score, mean of the assessors"),
    N_("Agreement on the overall score, one assessor, {form}"),
    N_("Agreement on the overall score, mean of the assessors, {form}"),
    N_("Standard error of one assessor's overall score, percentage points"),
    N_(
        "The assessors differ from attempt to attempt, so their mean has no fixed number of "
        "scores: let the same assessors score all attempts that are scored twice."
    ),
    N_("Same side of the overall cut, whichever assessor scored"),
    N_("The standard has no overall cut: its criteria decide, and those are above."),
    N_("Every assessor's scores reach the cut"),
    N_("No assessor's scores reach the cut"),
    N_("They differ"),
    N_("What each assessor's scores alone would lead to"),
    N_("Overall scores"),
    N_("There is nothing to count yet."),
    N_(
        "Fewer than two assessors have scored: let a second assessor score some attempts "
        "alone, without seeing the first scores."
    ),
    N_(
        "Nothing was scored by two assessors: let two assessors score the same attempts, "
        "each alone."
    ),
)

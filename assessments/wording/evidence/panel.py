"""What is said about a panel's cut by Angoff's and Ebel's methods, and Hofstee's check."""

from django.utils.translation import gettext_noop as N_

SAID = (
    N_("not placed, or no share for its cell"),
    N_("no estimate"),
    N_("Cut from counted placements"),
    N_("No criterion was placed: count at least one."),
    N_("Relevance and difficulty, over all judges (shares)"),
    N_("Relevance"),
    N_("Difficulty"),
    N_("Placed here"),
    N_("Judges"),
    N_("Mean share"),
    N_("How many judges placed each criterion where"),
    N_("essential"),
    N_("important"),
    N_("acceptable"),
    N_("questionable"),
    N_("easy"),
    N_("medium"),
    N_("hard"),
    N_("Essential and {difficulty}"),
    N_("Important and {difficulty}"),
    N_("Acceptable and {difficulty}"),
    N_("Questionable and {difficulty}"),
    N_("Missing estimates: these judges are left out of the cut"),
    N_("Judge"),
    N_("What is missing"),
    N_("Sense check by Hofstee's method"),
    N_("Where Hofstee's line meets the scores (a sense check, no recommendation)"),
    N_("A sense check on a cut found otherwise; by itself it is never the recommendation."),
    N_("There are no scores to look at."),
    N_("none: in too many bootstrap samples the scores do not cross the line"),
    N_("In steps of {cut}."),
    N_("In marks, the unit of the scores."),
    N_(
        "Even at the lowest tolerable cut, {cut}, {share} would not meet it, more than the "
        "{most} that the judges can tolerate: the scores lie above the line."
    ),
    N_(
        "Even at the highest tolerable cut, {cut}, only {share} would not meet it, fewer "
        "than the {least} that the judges expect: the scores lie below the line."
    ),
    N_("Share of these attempts that would not meet that cut"),
    N_("There is no cut to count by."),
    N_("Wilson's interval, the cut as given"),
    N_("The line of tolerance stands at {share} there."),
    N_("The sense check gives no cut."),
    N_(
        "What the judges can tolerate and what {count} attempts scored meet at a cut of "
        "{cut}, which {share} would not meet."
    ),
    N_("Compare this with the recommended cut; it does not replace it."),
    N_("What would fail and what may, cut by cut"),
    N_("Cut (share)"),
    N_("Cut (marks)"),
    N_("Cut (%)"),
    N_("Would not meet it (share)"),
    N_("Would not meet it (%)"),
    N_("Line of tolerance (share)"),
    N_("They meet at {cut}."),
    N_("Scores and what is tolerable"),
    N_(
        "The share that would not meet a cut rises with it; the dashed line of tolerance "
        "falls from {most} at {low} to {least} at {high}."
    ),
    N_("At least two judges must estimate every criterion; one judge has done so."),
    N_("At least two judges must estimate every criterion; no judges have done so."),
    N_("none: the judges do not differ"),
    N_(
        "The judges do not differ where the {average} looks, so this panel cannot tell how "
        "far another one might."
    ),
    N_("t interval with {freedom} degrees of freedom; {how}"),
    N_("The {average} of the judges' cuts."),
    N_("mean"),
    N_("median"),
    N_("trimmed mean"),
    N_("The judges do not differ, so their spread suggests no band."),
    N_("SD of the judges' cuts"),
    N_("SD of the judges' cuts in the round before"),
    N_("Fewer than two judges estimated every criterion."),
    N_("Standard error of the mean cut, the criteria as fixed (unweighted)"),
    N_("Standard error of the mean cut, the criteria as a sample (unweighted)"),
    N_("Variance between judges (unweighted layout)"),
    N_("Variance between criteria (unweighted layout)"),
    N_("Variance left over: judges who differ by criterion (unweighted)"),
    N_("It needs at least two criteria, and two judges who estimated every one."),
    N_("Below zero by chance, and held at zero."),
    N_("Cut"),
    N_("SD of the estimates"),
    N_("Above the mean of the others"),
    N_("Cut in the round before"),
    N_("Judge by judge (shares)"),
    N_("Criterion by criterion (shares)"),
    N_("Weight"),
    N_("The judges are far apart on {apart}."),
    N_("The panel of {judges} puts the cut at {share}."),
    N_("They do not differ, so there is no telling how far another panel might."),
    N_("The panel of {judges} puts the cut at {share} ({average} of the judges)."),
    # xgettext:no-python-format
    N_(
        "As far as these judges can tell, it lies between {low} and {high} (95 % interval; "
        "standard error {points})."
    ),
    N_("one judge"),
    N_("no judges"),
    N_("{number} judges"),
    N_("One judge estimated."),
    N_("No judges estimated."),
    N_("{number} judges estimated."),
    N_("{names} left a gap and is not part of the cut."),
    N_("{names} left a gap and are not part of the cut."),
    N_("A missing estimate is never filled in."),
    N_(
        "The table of criteria counts every estimate given; the cut counts only judges who "
        "estimated every criterion."
    ),
    N_(
        "Judges count as far apart on a criterion from {points} between the lowest and the "
        "highest estimate (common practice, no source)."
    ),
    N_("The cut uses the weights of the criteria."),
    N_("The variances, and the two standard errors beside them, are of the unweighted layout."),
    N_("{number} percentage points"),
    N_("Cut (%); dashed: panel"),
    N_("The cut of each judge: {cuts}."),
    N_("The panel: {share}."),
    N_("The judges' cuts"),
    N_("The estimates for each criterion"),
    N_("Estimate (%); bar: mean"),
    N_("{title} ({number} of {total})"),
    N_("{title}: no estimate."),
    N_("{title}: {low} to {high}, mean {share}."),
    N_("A suggestion: a score this close to the cut, on either side, is looked at again."),
    N_(
        "Use it before anybody has been assessed: each judge says, for each criterion, what "
        "share of masons who just meet the standard would meet it."
    ),
    N_("It needs judges who know such masons, and at least two of them."),
    N_(
        "Use it before anybody has been assessed, where judges find it easier to say how "
        "relevant and how difficult each criterion is than to estimate criterion by "
        "criterion."
    ),
    N_("They estimate one share for each combination."),
    N_(
        "Use it once a cohort has done the work: judges rate each whole piece from 1 to 5, "
        "and the line through ratings and scores is read at the borderline rating."
    ),
    N_(
        "It needs ratings on both sides of the borderline, and the standard never applies to "
        "that cohort."
    ),
    N_(
        "Use it once a cohort has done the work and judges can say of each attempt, from the "
        "work and without the score, whether it is competent."
    ),
    N_("The cut is where both are equally likely."),
    N_("It needs both groups, and the standard never applies to that cohort."),
    N_(
        "Use it as a sense check beside another method: judges say the lowest and the "
        "highest tolerable cut and share of trainees not meeting it."
    ),
    N_("It compromises with what is tolerable, so it is never the recommendation."),
    N_("Judge {letter}"),
    N_("What the judges estimated"),
    N_("The letters stand for the judges."),
    N_("What is missing is never filled in."),
    N_("No judge has estimated a criterion yet."),
    N_("Talk these over before the next round."),
    N_("On no criterion are the judges far apart."),
    N_("Estimates are missing from {names}."),
    N_("The judges' cuts now spread by {points} (SD), {before} in the round before."),
    N_("Change of the mean"),
    N_("Estimates by criterion (shares)"),
    N_("Round before"),
    N_("The cut of each judge (shares)"),
    N_("The estimates for each criterion by judge"),
)

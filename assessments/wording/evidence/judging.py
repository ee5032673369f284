"""What is said about a cut from whole pieces: borderline regression, contrasting groups."""

from django.utils.translation import gettext_noop as N_

SAID = (
    N_("The passing standard by the modified Angoff method"),
    N_("The passing standard by borderline regression"),
    N_("The passing standard by contrasting groups"),
    N_("The passing standard by Ebel's method"),
    N_("Recommended cut"),
    N_("Band around the cut"),
    N_("There is no recommended cut."),
    N_("The standard never applies to the attempts it was made from."),
    N_("A line needs at least three rated attempts; there are {count}."),
    N_("Every attempt has the same rating, so there is no line: rate a wider cohort."),
    N_("Every attempt has the same score, so there is no line: rate a wider cohort."),
    N_(
        "Every rating is above the borderline of {cut}: the line would have to be drawn on "
        "beyond the ratings given."
    ),
    N_(
        "Every rating is below the borderline of {cut}: the line would have to be drawn on "
        "beyond the ratings given."
    ),
    N_(
        "Better ratings do not go with higher scores here, so the line gives no cut: talk "
        "over how the judges rated."
    ),
    N_("The line gives {share}, outside 0 to 100 %: that is no cut."),
    N_("none: every attempt lies on the line"),
    N_("Every attempt lies on the line, so it cannot tell how sure it is."),
    N_("The fitted score at the rating {cut}."),
    N_("The interval is cut off at 0 or 100 %."),
    N_("A line without slope cannot be ruled out: the cut rests on little."),
    N_("t interval of the fitted mean with {freedom} degrees of freedom"),
    N_("Every attempt lies on the line, so there is no standard error to set it by."),
    N_(
        "{value} times the standard error of {points}: Student's t, 95 %, {freedom} degrees "
        "of freedom."
    ),
    N_("Rise of the score for one step of the rating"),
    N_("t interval with {freedom} degrees of freedom"),
    N_("Fitted score at the rating 0"),
    N_("Share of the differences in score that the ratings account for (R²)"),
    N_("from Fisher's z"),
    N_("none: too few attempts"),
    N_("SD of the scores about the line"),
    N_("chi-squared interval with {freedom} degrees of freedom"),
    N_(
        "From {count} rated attempts the cut is {share}; all of them lie on one line, so "
        "there is no telling how sure it is."
    ),
    # xgettext:no-python-format
    N_("From {count} rated attempts the cut is {share}, between {low} and {high} (95 % interval)."),
    N_("The ratings account for {share} of the differences in score (R²)."),
    N_("Scores by rating (shares)"),
    N_("Rating"),
    N_("Mean score"),
    N_("Lowest"),
    N_("Highest"),
    N_("Rating of the whole piece"),
    N_("Score (%)"),
    N_("Scores and ratings"),
    N_(
        "The line through {count} attempts rises by {points} a rating and stands at {share} "
        "at the borderline rating {cut}."
    ),
    N_("standard error from {samples} bootstrap panels (seed {seed})"),
    N_("standard error SD / √J, the criteria taken as fixed"),
    N_(
        "Trimming {cut} at each end of {count} judges leaves fewer than two: trim less, or "
        "ask more judges."
    ),
    N_("standard error from the Winsorised cuts, {count} trimmed at each end"),
    N_("The scores do not tell the groups apart, so they give no cut: judge more attempts."),
    N_("Highest score of work held not yet competent"),
    N_("Lowest score of work held competent"),
    N_("Rise of the log odds of competent for ten percentage points of score"),
    N_("normal interval of the maximum-likelihood fit"),
    N_("Every attempt has the same score."),
    N_(
        "Work held competent does not score higher here, so the scores give no cut: talk "
        "over how the judges sorted it."
    ),
    N_("The fit gives {share}, outside 0 to 100 %: that is no cut."),
    N_("No attempt was judged."),
    N_("Every attempt was held competent: the method needs attempts of both kinds."),
    N_("Every attempt was held not yet competent: the method needs attempts of both kinds."),
    N_("The score at which an attempt is as likely to be held competent as not."),
    N_("Scores that say nothing cannot be ruled out: the cut rests on little."),
    N_("normal interval, standard error by the delta method"),
    N_(
        "{low} to {high}, the gap between the groups; it is no confidence interval, and "
        "there is no standard error"
    ),
    N_(
        "One score parts the groups wholly (perfect separation), so logistic regression has "
        "no finite answer."
    ),
    N_("Any cut in the gap fits these attempts; the middle is shown."),
    N_("There is no cut to set it around."),
    N_("The groups do not overlap, so there is no standard error to set it by."),
    N_("{value} times the standard error of {points}: normal, 95 %."),
    N_("Where normal curves of both groups cross, both groups as equally common"),
    N_("Where normal curves of both groups cross, the groups as common as here"),
    N_("Each group needs two attempts with different scores."),
    N_("The curves cross a second time at {share}."),
    N_("percentiles of {count} of {samples} bootstrap samples (seed {seed})"),
    N_("none: too many bootstrap samples have no crossing between the groups"),
    N_("Work held competent does not score higher on average."),
    N_("The curves do not cross: one group is denser at every score."),
    N_("The curves do not cross between the groups' means, but at {share}."),
    N_("The curves do not cross between the groups' means, but at {low} and {high}."),
    N_(
        "From {able} held competent and {others} held not yet competent: every competent "
        "attempt scores at least {low} and every other at most {high} (perfect separation)."
    ),
    N_("The middle, {share}, is shown; it has no standard error."),
    # xgettext:no-python-format
    N_(
        "From {able} held competent and {others} held not yet competent the cut is {share}, "
        "between {low} and {high} (95 % interval): there an attempt is as likely to be held "
        "competent as not."
    ),
    N_("one attempt"),
    N_("no attempts"),
    N_("{number} attempts"),
    N_("Competent"),
    N_("Not yet competent"),
    N_("Not yet"),
    N_("Scores of both groups (shares)"),
    N_("Scores of both groups"),
    N_("Group"),
    N_("Mean"),
    N_("SD"),
    N_("Competent: {low} to {high}."),
    N_("Not yet competent: {low} to {high}."),
    N_("Score (%); dashed: cut"),
    N_("The cut is {share}."),
)

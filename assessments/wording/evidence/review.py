"""What is said about each criterion: how hard it was, what it tells, and what to do."""

from django.utils.translation import gettext_noop as N_

SAID = (
    N_(
        "Advice is given where everyone or nobody met a criterion; where more than {share} "
        "of ended attempts have no score for it; where its correlation with the rest of the "
        "work is below {value} (the mark under which Ebel 1954, Educ. Psychol. Meas. 14:352, "
        "calls an item poor; from memory), more so when the whole interval lies below 0; and "
        "where it alone decided {alone} or more, and at least {count}, of the decisions 'not "
        "yet met'."
    ),
    N_(
        "It alone decided {count} of {total} decisions 'not yet met': see that its limit and "
        "the way it is scored can bear that."
    ),
    N_("Nobody was scored on it yet."),
    N_("Keep it: it is critical."),
    N_("Keep it only if the work needs it."),
    N_("Everyone met it ({count} of {total}): it tells nothing about who can do the work."),
    N_(
        "Nobody met it ({count} of {total}): look whether it was taught and practised, and "
        "whether its limit can be kept on site."
    ),
    N_(
        "It has no score in {count} of {total} attempts where it applied: see whether it can "
        "be seen and measured at its stage."
    ),
    N_(
        "Those who did the rest well tended to miss it (correlation {value}): look at its "
        "words, its limit and how it is measured."
    ),
    N_(
        "Those who did the rest well tended to miss it (correlation {value}, {low} to "
        "{high}): look at its words, its limit and how it is measured."
    ),
    N_(
        "It hardly goes along with the rest of the work (correlation {value}): it may be a "
        "skill of its own, or be scored unevenly."
    ),
    N_(
        "It hardly goes along with the rest of the work (correlation {value}, {low} to "
        "{high}): it may be a skill of its own, or be scored unevenly."
    ),
    N_("Look again after more trainees."),
    N_("Share who met it"),
    N_("Nobody was scored on it."),
    N_("All have the same share, so there is no interval."),
    N_("Student's t, {level}"),
    N_("Correlation with the rest of the work"),
    N_("Upper less lower group"),
    N_("Met the standard less did not yet"),
    N_("Fisher's z, {level}"),
    N_("Groups of at least {count} need 10 trainees; there are {total}."),
    N_("Too many trainees did equally well on the rest."),
    N_("Welch's t, {level}"),
    N_("All of those scored met the standard."),
    N_("None of those scored met the standard."),
    N_("At least {count} trainees are needed; {total} were scored."),
    N_("Everyone has the same score on it, so nothing can go along with it."),
    N_("Everyone did equally well on the rest of the work."),
    N_("Share of trainees who met each criterion"),
    N_("Correlation of each criterion with the rest of the work"),
    N_("Correlation"),
    N_("Correlation with the rest"),
    N_("not computed"),
    N_("Share who met it: {series}."),
    N_("Correlation with the rest of the work: {series}."),
    N_("Correlation with the rest: {series}."),
    N_("Correlation: {series}."),
    N_("Minutes taken (median)"),
    N_("Left without a score"),
    N_("It applied in no attempt that has ended."),
    N_("No time was taken."),
    N_("Order statistics, at least {level}"),
    N_("Decided alone"),
    N_("Nobody has not yet met the standard."),
    N_("What each criterion tells"),
    N_(
        "The passing standard is a fixed mark, so everyone may meet a criterion; then it "
        "cannot tell trainees apart, and that is no fault."
    ),
    N_(
        "Correlation and group differences (discrimination) near 0 are a question, not a "
        "verdict; clearly below 0 they ask for a look at the criterion."
    ),
    N_("These are figures of one group of trainees."),
    N_(
        "Look at them again with the next group before changing the standard, and change it "
        "only for trainees who have not begun."
    ),
    N_("There are no criteria and trainees to review yet."),
    N_("Nothing stands out in {criteria}."),
    N_("{count} of {criteria} asks for a look: {asked}."),
    N_("{count} of {criteria} ask for a look: {asked}."),
    N_("Criteria met by a trainee, on average"),
    N_("Scores left out where the criterion applied"),
    N_("No attempt has ended."),
    N_("Decisions 'not yet met' that one criterion made alone"),
    N_("What to do"),
    N_("Critical"),
    N_("Nothing stands out."),
    N_("How hard each criterion was"),
    N_("Trainees scored"),
    N_("Met: from"),
    N_("Met: to"),
    N_("Mean: from"),
    N_("Mean: to"),
    N_("How each criterion goes along with the rest of the work"),
    N_("Correlation: from"),
    N_("Correlation: to"),
    N_("Not computed"),
    N_("How each criterion worked on the day"),
    N_("Share left without a score"),
    N_("Minutes (median)"),
    N_("Minutes: from"),
    N_("Minutes: to"),
    N_("Times known"),
    N_("Share of 'not yet met' decided alone"),
    N_("Trainees"),
    N_("yes"),
    N_("no"),
    N_("none"),
)

"""What is said about whether decisions would come out the same again."""

from django.utils.translation import gettext_noop as N_

SAID = (
    N_("Effective length: {count} criteria met or not."),
    N_("Left out"),
    N_("Complete scores"),
    N_("Nothing has been scored yet."),
    N_("not scored"),
    N_("Scores of the same trainees by two or more assessors"),
    N_("Only one assessor scored."),
    N_(
        "Have two assessors score the same trainees, each on their own: that is the evidence "
        "to rest on."
    ),
    N_("No two assessors scored the same two trainees or more."),
    N_("Have the same two assessors score several trainees, each on their own."),
    N_("Assessor: did not score the same trainees."),
    N_("not scored by each of the assessors"),
    N_("Criterion: scored of fewer than half of the trainees."),
    N_("Trainee: not scored."),
    N_("Trainee: not scored by each of the assessors."),
    N_("does not apply"),
    N_("Trainee: {gaps}."),
    N_("1 trainee"),
    N_("{count} trainees"),
    N_("1 criterion"),
    N_("{count} criteria"),
    N_(
        "There are complete scores of {people} on {criteria}; two trainees and two criteria "
        "are the least."
    ),
    N_(
        "There are complete scores by the same assessors of {people} on {criteria}; two "
        "trainees and two criteria are the least."
    ),
    N_("Score what is missing, or wait for more trainees."),
    N_(
        "The reliability comes out at zero or below: trainees differ from each other by no "
        "more than chance would make them."
    ),
    N_("Score more trainees, or have two assessors score each of them."),
    N_(
        "The reliability comes out at 1: all criteria tell the trainees apart alike, so "
        "there is no chance to take into account."
    ),
    N_("Score more trainees."),
    N_("Same decision again (p₀, {method})"),
    N_("Same decision again, beyond chance (κ, {method})"),
    N_("Everyone met the cut: without both decisions there is nothing beyond chance to tell."),
    N_("Nobody met the cut: without both decisions there is nothing beyond chance to tell."),
    N_("What other designs would give"),
    N_("Standard error (share)"),
    N_("Ranking, Eρ²"),
    N_("Scores, Φ"),
    N_("At the cut, Φ(λ)"),
    N_("Assessors"),
    N_("What one assessor would give cannot be told: trainees do not differ beyond chance."),
    N_("What two assessors would give cannot be told: trainees do not differ beyond chance."),
    N_("One assessor would give a dependability of {value} (Φ)."),
    N_("Two assessors would give a dependability of {value} (Φ)."),
    N_("Generalizability for ranking trainees (Eρ²)"),
    N_("Dependability of scores (Φ)"),
    N_("Standard error of a trainee's score, σ(Δ)"),
    N_("Dependability at the cut {cut}, Φ(λ)"),
    N_("{figure}, one assessor"),
    N_("{figure}, two assessors"),
    N_(
        "Trainees do not differ from each other, or from the cut, by more than chance: the "
        "estimate comes out below zero."
    ),
    N_(
        "All trainees have the same total: without differences between them there is nothing "
        "to work out."
    ),
    N_("Reliability of the number of criteria met (KR-20)"),
    N_("Reliability of the overall score (alpha)"),
    N_("Reliability with all criteria taken as equally hard (KR-21)"),
    N_("Reliability about the cut of {cut} criteria (Livingston's k²)"),
    N_("Reliability about the cut (Livingston's k²)"),
    N_(
        "It comes out at {value}: trainees differ from each other by no more than chance "
        "would make them."
    ),
    N_("percentiles of {samples} resamples of trainees, seed {seed}"),
    N_("{count} of {samples} resamples have no such figure."),
    N_("none: fewer than half of the resamples have such a figure"),
    N_("none: the resamples differ too little from each other"),
    N_("With {count} trainees the interval is rough."),
    N_("Would the decisions come out the same again?"),
    N_(
        "Rest on double marking first: two assessors who score the same trainees on their "
        "own show what another assessor would have decided."
    ),
    N_("Figures from one scoring show less: they are indicative."),
    N_("Where several assessors scored, their mean is taken for the figures of one scoring."),
    N_(
        "Criteria count alike in the figures about the share of criteria met; the figures by "
        "Livingston and Lewis, and those about assessors, use the weights of the standard."
    ),
    N_("The overall cut alone is looked at here."),
    N_("Critical criteria and minima of outcomes can make a decision come out otherwise."),
    N_("Scores of one practical task do not show what another task would bring."),
    N_("For that, have trainees do two tasks."),
    N_("The standard has no overall cut, so there is nothing to be on either side of."),
    N_("The overall cut is 0: everyone meets it, whatever the scores."),
    N_("Dependability of assessors"),
    N_("Overall score"),
    N_("Single scores"),
    N_("{title}: where differences come from"),
    N_("{title}: what other designs would give"),
    N_("Left out of the study of assessors"),
    N_("Standard error at the cut"),
    N_("Same decision again"),
    N_("Standard error of the share of criteria met, at the cut {cut}"),
    N_("none: it follows from the cut and the number of criteria"),
    N_(
        "About two in three of those who stand exactly at the cut would score between {low} "
        "and {high}."
    ),
    N_("Where differences between scores come from"),
    N_("Left out of the figures of one scoring"),
    N_("Cut, as a share"),
    N_("cut {cut}"),
    N_("Dependability over the cut"),
    N_("At the standard's cut of {cut} it stands at {value}."),
    N_("No line: whatever the cut, the trainees differ from it by no more than chance."),
    N_(
        "A line, lowest at {low} for a cut of {cut}, near the mean of the cohort, {mean}; "
        "higher the further the cut lies from it."
    ),
    N_(
        "A line that rises on both sides of the mean of the cohort, {mean}; for cuts from "
        "{low} to {high} there is none, as the trainees differ from such a cut by no more "
        "than chance."
    ),
    N_(
        "By the scores of {people} trainees, about {count} in 100 would get the same "
        "decision about the overall cut if assessed again (p₀)."
    ),
    N_(
        "By the scores of {people} trainees, about {count} in 100 (from {low} to {high}) "
        "would get the same decision about the overall cut if assessed again (p₀)."
    ),
    N_("The dependability of the decision at the cut is {value} of 1 (Φ(λ))."),
    N_("How dependable the decisions are cannot be told yet."),
    N_("Take this as an indication: few trainees, or one scoring, carry no more."),
    N_("Estimated below zero, and taken as zero in what follows: {effects}."),
    N_("Source of differences"),
    N_("Sign"),
    N_("Degrees of freedom"),
    N_("Mean square"),
    N_("Variance as estimated"),
    N_("Variance used"),
    N_("Share of all variance"),
    N_("Variance components"),
    N_("All scores are the same: there are no differences to trace to a source."),
    N_("Score more trainees, or criteria that not everyone masters."),
    N_("trainees"),
    N_("criteria"),
    N_("assessors"),
    N_("trainees × criteria"),
    N_("trainees × assessors"),
    N_("criteria × assessors"),
    N_("trainees × criteria, and chance"),
    N_("trainees × assessors, and chance"),
    N_("trainees × criteria × assessors, and chance"),
)

"""What is said about the rounds of a panel, between them and when they are kept."""

from django.utils.translation import gettext_noop as N_

SAID = (
    N_("No round that counts is closed yet: close one, then look again."),
    N_("What the panel recommends: {method}"),
    N_("Left out for want of a judgement or a score: {count} of {total} pieces."),
    N_("A piece counts with the mean of its judges' ratings."),
    N_("A piece belongs to the group in which most of its judges put it."),
    N_("Left out since the judges were evenly split: {count} of {total} pieces."),
    N_("Round {number}"),
    N_("Round {number}, for training"),
    N_("From round to round"),
    N_("The cut that each round came to"),
    N_("Round"),
    N_("Cut, %"),
    N_("Standard error, percentage points"),
    N_("The last round is the one that counts: judges had talked over the one before."),
    N_("Not every round came to a cut, so there is no telling how it moved."),
    N_("The cut stayed where it was from the first round to the last."),
    N_("The cut went up by {points} from the first round to the last."),
    N_("The cut went down by {points} from the first round to the last."),
    N_(
        "The cut stayed where it was from the first round to the last, and the judges ended "
        "closer together."
    ),
    N_(
        "The cut stayed where it was from the first round to the last, and the judges ended "
        "no closer."
    ),
    N_(
        "The cut went up by {points} from the first round to the last, and the judges ended "
        "closer together."
    ),
    N_(
        "The cut went up by {points} from the first round to the last, and the judges ended "
        "no closer."
    ),
    N_(
        "The cut went down by {points} from the first round to the last, and the judges "
        "ended closer together."
    ),
    N_(
        "The cut went down by {points} from the first round to the last, and the judges "
        "ended no closer."
    ),
    N_("No judge said which cuts and failing rates are tolerable."),
    N_(
        "There are no scores yet to check the cut against: nobody was assessed before on "
        "these criteria."
    ),
    N_("Cut by Hofstee's compromise"),
    N_("Sense check"),
    N_("Lowest cut"),
    N_("Highest cut"),
    N_("Fewest not yet"),
    N_("Most not yet"),
    N_("What the judges think reasonable"),
    N_(
        "{count} of {total} judges said between what a reasonable cut lies, and between what "
        "a reasonable share of trainees not yet meeting it."
    ),
    N_("Limits of the sense check (shares)"),
    N_("Where the judges placed the criteria"),
    N_("{count} of {total} judges placed all {items} criteria by relevance and difficulty."),
    N_("Relevance and difficulty"),
    N_("Piece {number}"),
    N_("How the judges saw the pieces"),
    N_("{count} of {total} judges judged all {items} pieces."),
    N_("Judgements by piece"),
    N_("Lowest cut, %"),
    N_("Highest cut, %"),
    N_("Lowest share not meeting it, %"),
    N_("Highest share not meeting it, %"),
    N_("{round}: share in %"),
    N_("{round}: cell of the grid"),
    N_("{round}: rating, 1 to 5"),
    N_("{round}: group"),
    N_("{round}: share for each cell, in %"),
    N_("{round}: limits for the sense check"),
    N_("What was judged"),
    N_("Cell"),
    N_("Limit"),
    N_("All judgements"),
    N_("Key"),
    N_("Title"),
    N_("Entered at"),
    N_("A competent mason's work"),
    N_("Not yet a competent mason's work"),
)

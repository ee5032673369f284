"""The sums of the task sheet: labels, workings, cautions."""

from django.utils.translation import gettext_noop as N_

SAID = (
    N_("Reach of the disc"),
    N_("Size of the piece"),
    N_("Mortar for bed and joints"),
    N_("Mortar for the joints"),
    N_("Lifts of mortar"),
    N_("Hole for a pin"),
    N_("Grout for the pins"),
    N_("Mass of the piece"),
    N_("Vibration of hand and arm"),
    N_("Silica dust over the shift"),
    N_("Waste"),
    N_("Mortar"),
    N_("Mortar with waste"),
    N_("What the opening holds, less what the piece fills of it."),
    N_("Width of the joint"),
    N_("Depth of the joint"),
    N_("Length of the run"),
    N_("Width × depth × length of the run."),
    N_("Thickest layer"),
    N_("Lifts"),
    N_("Each, when all are alike"),
    N_("Depth divided by the thickest layer, rounded up."),
    N_("A lift is thumbprint-hard before the next one goes on."),
    N_("Diameter of the rod"),
    N_("Diameter of the hole"),
    N_("The pin shows"),
    N_("Gap at its end"),
    N_("Gap all round the rod"),
    N_("Least depth of the hole"),
    N_(
        "Half of what the hole is wider than the rod; and what the pin shows, with the gap at "
        "its end."
    ),
    N_("In a shallower hole the joint stays open."),
    N_("Length in grout"),
    N_("Holes"),
    N_("Grout"),
    N_("Grout with waste"),
    N_("The ring between rod and hole, times the length and the number of holes."),
    N_("Source of the figures"),
    N_("Points of the day"),
    N_("{amount} points"),
    N_("A(8), spread over 8 hours"),
    N_(
        "For each tool twice the square of its vibration, times the hours of trigger time, "
        "added up."
    ),
    N_("From 100 points on the employer has to act; 400 is the limit of a day."),
    N_("The employer's own plan and local codes come first."),
    N_("Average over 8 hours"),
    N_(
        "Dust times minutes for each piece of work, added up and divided by 480 minutes; the "
        "rest of the day counts as clean."
    ),
    N_("Action level 25 µg/m³, limit 50 µg/m³."),
    N_("{amount} for {count} min"),
    N_("Revised NIOSH lifting equation (NIOSH 94-110)"),
    N_("HSE guidance L23 on manual handling"),
    N_("Diameter of the disc"),
    N_("Depth of the cut"),
    N_("Stop short of the corner, at the face, by"),
    N_(
        "A disc is round: where it is at full depth at the corner, it has cut further at the "
        "face by the root of depth × (diameter - depth)."
    ),
    N_(
        "Stop there and take the rest with the chisel; the flange takes away from the depth "
        "that a disc reaches."
    ),
    N_(
        "A disc raises silica dust: cut wet or with extraction at the tool, and wear the "
        "respirator that the site's plan names."
    ),
    N_("Keep the guard on."),
    N_("Source: HSE guidance L140 to the Control of Vibration at Work Regulations 2005."),
    N_("Source: 29 CFR 1926.1153 (respirable crystalline silica in construction)."),
    N_("29 CFR 1926.1153 (respirable crystalline silica in construction)"),
    N_("HSE guidance L140 to the Control of Vibration at Work Regulations 2005"),
    N_("Width of the opening"),
    N_("Height of the opening"),
    N_("Depth of the opening"),
    N_("Joint all round"),
    N_("Bed at the back"),
    N_("Left proud of the face"),
    N_("Width"),
    N_("Height"),
    N_("Thickness"),
    N_(
        "The opening less a joint on either side; the depth less the bed at the back, and "
        "with what is left proud of the face to be dressed back."
    ),
    N_("Width of the piece"),
    N_("Height of the piece"),
    N_("Thickness of the piece"),
    N_("Density"),
    N_("Source of the density"),
    N_("Guide to lifting"),
    N_("Mass"),
    N_("Width × height × thickness, times the density."),
    N_("Wet stone and metal in it weigh more."),
    N_("Most that one person lifts"),
    N_("Source of that most"),
    N_("Do not lift this alone: it is above the {amount} that this project allows one person."),
    N_("Use a hoist or more hands."),
    N_(
        "Do not lift this alone: it is above 51 lb, the load constant of the revised NIOSH "
        "lifting equation (NIOSH 94-110)."
    ),
    N_(
        "Do not lift this alone: it is above 25 kg, the guideline filter of HSE guidance L23 "
        "for men, 16 kg for women."
    ),
    N_("Reach, height and footing lower the figure."),
    N_("Use a hoist or more hands; local codes and licensed practice come first."),
    N_("Local codes and licensed practice come first."),
    N_("Stop for the day: the limit value of 400 points (HSE L140) is reached."),
    N_("Shorten or share the work: the action value of 100 points (HSE L140) is reached."),
    N_("Cold and old tools make it worse; local codes come first."),
    N_("Stop: this is above the limit of 50 µg/m³ over 8 hours (29 CFR 1926.1153)."),
    N_("Cut wet or with extraction, and wear what the local code asks for."),
    N_(
        "This is at or above the action level of 25 µg/m³ over 8 hours (29 CFR 1926.1153): "
        "exposure must be assessed."
    ),
    N_("Cut wet or with extraction; local codes come first."),
    N_("{amount} ({other} when rounded up to 1/64)"),
    N_("about {amount} ({other})"),
)
"""The patterns of the engine's sentences; see ``assessments.wording.engine``."""

"""Cautions about mortar, as includes/caution.html shows them; sources by their public numbers."""

from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _l


@dataclass(frozen=True)
class Caution:
    """What to take care of, and who says so."""

    text: str | Promise
    source: str | Promise


LIME = Caution(
    _l(
        "Wet lime and cement burn skin and eyes, often without pain at first. Goggles, gauntlets "
        "and long sleeves whenever mortar is open; clean water and an eyewash within reach. Wash "
        "it off at once, and with lime in an eye go on rinsing and call for medical help."
    ),
    _l(
        "NIOSH Pocket Guide to Chemical Hazards, calcium hydroxide; the supplier’s safety data "
        "sheet"
    ),
)
SILICA = Caution(
    _l(
        "Dry sand and binder, and the dust of cutting out, hold silica that stays in the lungs. "
        "Open bags low and downwind, mix wet, never sweep dry, and wear the respirator that the "
        "exposure plan of the site names and that was fitted to you."
    ),
    _l("29 CFR 1926.1153 (respirable crystalline silica in construction)"),
)

"""The texts of the pages that a device keeps, which its scripts show by ``t("…")``.

They are listed here so that the one catalog of translations holds them (``views.words``).
"""

from training.device_words import keeping, measuring, presence, screens

WORDS = (*keeping.WORDS, *measuring.WORDS, *presence.WORDS, *screens.WORDS)

"""Programs that measure; each is run by ``python -m``."""

import os

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")

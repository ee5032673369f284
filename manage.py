#!/usr/bin/env python
"""Run Django's commands and Bankermark's own for this checkout."""

import os
import sys

from django.core.management import execute_from_command_line


def main() -> None:
    """Point Django at the settings and hand over to the command named in argv."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()

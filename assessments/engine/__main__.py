"""``python -m assessments.engine``: see cli.py."""

import sys

from assessments.engine.cli import main

sys.exit(main())

"""``python -m assessments.evidence``: see command.py."""

import sys

from assessments.evidence.command import main

sys.exit(main())

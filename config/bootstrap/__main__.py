"""Write ``local.env`` with secrets for this checkout unless it is there: make's last step."""

import os
from pathlib import Path

from config.environment import ensure_local_file

ensure_local_file(os.environ, Path(__file__).resolve().parents[2])

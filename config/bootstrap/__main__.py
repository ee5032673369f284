"""Secrets for this checkout unless they are there, and the languages: make's last step."""

import os
from pathlib import Path

from config.environment import ensure_local_file
from config.messages import compile_messages

ensure_local_file(os.environ, Path(__file__).resolve().parents[2])
compile_messages()

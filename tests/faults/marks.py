"""Which of the fault tests run where."""

import os

import pytest

slow = pytest.mark.skipif("FAULT_SEEDS" not in os.environ, reason="only make faults runs this")

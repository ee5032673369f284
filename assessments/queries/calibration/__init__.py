"""Reads of calibration: reference pieces, sittings, what was reached, who may sign off."""

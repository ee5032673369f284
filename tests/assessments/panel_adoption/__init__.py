"""Tests of the way from a panel to a sealed standard."""

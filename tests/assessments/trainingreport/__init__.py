"""Tests of the training report to the owner."""

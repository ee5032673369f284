"""Tests of the review of the criteria."""

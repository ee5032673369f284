"""Tests of practice plans, practice pieces and progress."""

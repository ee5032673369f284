"""Tests of guides and quick cards."""

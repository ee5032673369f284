"""Hypothesis without its deadline: no test of the engine depends on how fast a machine is."""

from hypothesis import settings

settings.register_profile("engine", deadline=None)
settings.load_profile("engine")

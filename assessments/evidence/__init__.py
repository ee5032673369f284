"""Evidence that a passing standard can be trusted: how it was fixed, and how it holds up.

Pure calculation over numbers that are handed in: numpy, scipy, statsmodels and matplotlib, no
Django, no database, no clock; what is drawn at random is drawn from a seed that the caller gives.
Nothing here decides about a trainee: that is the engine's, by exact arithmetic. These are
reports, in floating point.
"""

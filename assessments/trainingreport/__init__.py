"""The training report on a run, from which the building's owner learns what was done and attained.

What an author chooses is in ``choices``; every figure is read anew by the modules of the parts.
"""

"""Reads of panels: what judges saw, what they said, what follows from it."""

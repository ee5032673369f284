"""The desk of a program: versions, what changed, copies."""

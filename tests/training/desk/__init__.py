"""The desk of a program: what it is taught from, and who teaches it."""

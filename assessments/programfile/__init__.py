"""A program as a readable file: read it, check it, write it (see fixtures/PROGRAM_FORMAT.md)."""

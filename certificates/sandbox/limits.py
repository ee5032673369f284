"""What a process that reads a stranger's file may use."""

import resource

# Reading a record takes some 70 MB of addresses and 1 s with the start of Python.
MEMORY = 400 * 1024 * 1024
PROCESSOR_SECONDS = 8
FILES = 32
# A record has 2 pages, and some 10 with photographs.
PAGES = 200
# The one that waits gives a busy machine more time than the processor's.
WALL_SECONDS = 20.0

TOO_MANY_PAGES = (
    f"This file says that it has more than {PAGES} pages; a record has far fewer. Choose the PDF "
    "file of the record itself."
)
TOO_SLOW = (
    "This file was given up: reading it took many times the time or memory that a record takes, "
    "so it is no record, or it is damaged."
)


def confine() -> None:
    """Take from this process what it does not need, for good (POSIX setrlimit)."""
    for what, most in (
        (resource.RLIMIT_AS, MEMORY),
        (resource.RLIMIT_CPU, PROCESSOR_SECONDS),
        (resource.RLIMIT_NOFILE, FILES),
        (resource.RLIMIT_FSIZE, 0),  # it writes into a pipe, never into a file
        (resource.RLIMIT_CORE, 0),
    ):
        resource.setrlimit(what, (most, most))

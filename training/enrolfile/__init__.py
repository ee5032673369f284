"""Reading a list of trainees from a CSV file, with every fault told at once."""

from training.enrolfile.encoding import Decoded, UnreadableError, decode
from training.enrolfile.rows import COLUMNS, Fault, Row, Table, read_table, to_text

__all__ = [
    "COLUMNS",
    "Decoded",
    "Fault",
    "Row",
    "Table",
    "UnreadableError",
    "decode",
    "read_table",
    "to_text",
]

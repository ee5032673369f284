"""Reading a list of trainees from a CSV file, with every fault told at once."""

from training.enrolfile.encoding import Decoded, UnreadableError, decode
from training.enrolfile.records import Fault, read_records
from training.enrolfile.rows import COLUMNS, Row, Table, read_table, to_text

__all__ = [
    "COLUMNS",
    "Decoded",
    "Fault",
    "Row",
    "Table",
    "UnreadableError",
    "decode",
    "read_records",
    "read_table",
    "to_text",
]

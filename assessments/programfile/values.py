"""The values that the fields of a program file share."""

from assessments.programfile import quantities as q
from assessments.programfile.shapes import Exact, Text, Word

KEY = Word(r"[A-Za-z][A-Za-z0-9_]{0,19}", "1 to 20 letters, digits or _, a letter first")
CODE = Word(r"[A-Z][A-Z0-9-]{1,39}", "2 to 40 capital letters, digits or -, a letter first")
NUMBER = Exact("a number such as 2, 0.5 or 1/2", q.read_number, q.write_number)
SHARE = Exact("a percentage such as 60 %", q.read_share, q.write_share)
MINUTES = Exact("a time such as 24 h, 90 min or 3 d", q.read_minutes, q.write_minutes)
LONG = Text(4000, lines=True)
SENTENCE = Text(500)

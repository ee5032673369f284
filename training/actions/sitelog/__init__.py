"""Writing the site log: notes and photographs, batches of mortar, what cures."""

from training.actions.sitelog.curing import begin_curing, end_curing
from training.actions.sitelog.mortar import discard_batch, mix_batch
from training.actions.sitelog.notes import NoteFacts, correct_note, write_note
from training.actions.sitelog.photographs import MOST, NewPhoto, add_photographs

__all__ = [
    "MOST",
    "NewPhoto",
    "NoteFacts",
    "add_photographs",
    "begin_curing",
    "correct_note",
    "discard_batch",
    "end_curing",
    "mix_batch",
    "write_note",
]

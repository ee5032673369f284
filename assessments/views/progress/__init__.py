"""Practice plans, practice pieces, and how trainees come on."""

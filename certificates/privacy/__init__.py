"""What this app holds about a person, how long, and how it is erased."""

"""Forms of a panel: the lead's, and those that judges enter by."""

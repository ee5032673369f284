"""Pages of a panel: the lead's desk, and the judges' seats."""

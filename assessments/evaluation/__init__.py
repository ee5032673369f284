"""How a program does over its runs, and what its file holds for those who ask."""

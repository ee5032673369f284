"""How each language writes days; the names are Django's, and two of our own."""

"""Short guides on a page's first use, and cards to print for the scaffold."""

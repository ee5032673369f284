"""What people do on a panel, from opening it to the end of the judging."""

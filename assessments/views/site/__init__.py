"""What devices on site ask for and send."""

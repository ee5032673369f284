"""What is known of devices on site and what they sent."""

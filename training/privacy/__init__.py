"""What is kept of a person and how long, what the person agreed to, export and erasure."""

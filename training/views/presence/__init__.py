"""Pages about presence: the own phone, the desk, an instructor's device, and questions."""

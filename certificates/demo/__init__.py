"""The demo: an invented scenario, told through the same actions that people use."""

"""Pages of the site log that know stages, attempts and hold points."""

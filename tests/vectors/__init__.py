"""Cases that the engine in Python and the scoring page's in JavaScript must answer alike."""

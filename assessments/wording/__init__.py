"""The sentences of the pure packages, as patterns that are translated where they are shown."""

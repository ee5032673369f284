"""Pages about decisions that are looked at again."""

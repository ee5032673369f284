"""Reads about decisions that are looked at again."""

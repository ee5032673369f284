"""Signing in without a password."""

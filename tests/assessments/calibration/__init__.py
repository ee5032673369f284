"""Assessors compared with agreed scores, and the authority that follows."""

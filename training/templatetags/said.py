"""Sentences of the pure packages, in the reader's language."""

from django import template

from training.said import said

register = template.Library()
register.filter("said", said)

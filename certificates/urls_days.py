"""Addresses of the crew's days."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []

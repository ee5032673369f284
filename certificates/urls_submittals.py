"""Addresses of the crew's submittals."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []

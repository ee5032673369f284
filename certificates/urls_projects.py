"""Addresses of the crew's projects."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []

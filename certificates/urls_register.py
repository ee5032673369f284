"""Addresses of the crew's register."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []

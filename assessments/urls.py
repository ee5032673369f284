"""Addresses of the app."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []

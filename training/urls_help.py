"""Addresses of guides, and of the cards to print."""

from django.urls import path

from training.views import guides

urlpatterns = [
    path("help/", guides.help_page, name="help"),
    path("help/cards.pdf", guides.quick_cards, name="quick_cards"),
    path("help/guides/<str:key>/put-away/", guides.guide_put_away, name="guide_put_away"),
]

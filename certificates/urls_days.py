"""Addresses of the crew's days, their badges, and the owner's view of a project."""

from django.urls import URLPattern, path

from certificates.views import badges, day_place, days, owner

urlpatterns: list[URLPattern] = [
    path("projects/<uuid:pk>/owner/", owner.owner_page, name="owner_view"),
    path("projects/<uuid:pk>/day/", days.day_list_page, name="day_list"),
    path("projects/<uuid:pk>/day/copy/", days.day_copy, name="day_copy"),
    path("projects/<uuid:pk>/day/badges.pdf", badges.badge_sheet, name="badge_sheet"),
    path("projects/<uuid:pk>/day/posts/<uuid:post>/", day_place.day_place, name="day_place"),
    path("day-places/<int:pk>/remove/", days.day_remove, name="day_remove"),
    path("badge/<str:token>/", badges.badge, name="badge"),
]

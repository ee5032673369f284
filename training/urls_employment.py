"""Addresses of employment: the contractor's, and the person's own."""

from django.urls import path

from training.views import employment

urlpatterns = [
    path("offers/", employment.offer_new, name="offer_new"),
    path("offers/<int:pk>/take-back/", employment.offer_take_back, name="offer_take_back"),
    path("employments/<int:pk>/end/", employment.employment_end, name="employment_end"),
    path("my-employment/", employment.my_employment, name="my_employment"),
    path("my-employment/offers/<int:pk>/", employment.offer_answer, name="offer_answer"),
    path(
        "my-employment/<int:pk>/leave/",
        employment.leave_employer_page,
        name="leave_employer",
    ),
]

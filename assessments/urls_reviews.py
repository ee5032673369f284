"""Addresses of reviews: a decision looked at again by somebody independent."""

from django.urls import path

from assessments.views.reviews import answering, asking, giving, photographs, scoring

urlpatterns = [
    path("attempts/<uuid:pk>/review/", asking.review_ask, name="review_ask"),
    path("reviews/", asking.reviews, name="reviews"),
    path("reviews/<uuid:pk>/", asking.review, name="review"),
    path("reviews/<uuid:pk>/take-back/", asking.review_take_back, name="review_take_back"),
    path("reviews/<uuid:pk>/give/", giving.review_give, name="review_give"),
    path("reviews/<uuid:pk>/hand-back/", giving.review_step_down, name="review_step_down"),
    path(
        "reviews/<uuid:pk>/criteria/<str:key>/", scoring.review_criterion, name="review_criterion"
    ),
    path("reviews/<uuid:pk>/rest/", scoring.review_rest, name="review_rest"),
    path("reviews/<uuid:pk>/finish/", scoring.review_finish, name="review_finish"),
    path("reviews/<uuid:pk>/answer/", answering.review_answer, name="review_answer"),
    path(
        "reviews/<uuid:pk>/photographs/<str:kind>/<str:photo>/",
        photographs.review_photo,
        name="review_photo",
    ),
]

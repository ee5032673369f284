"""Addresses of mortar and curing in the site log of a run."""

from django.urls import path

from training.views import sitelog

urlpatterns = [
    path("runs/<uuid:pk>/mortar/", sitelog.run_mortar, name="run_mortar"),
    path("runs/<uuid:pk>/mortar/mix/", sitelog.run_mortar_mix, name="run_mortar_mix"),
    path("batches/<uuid:pk>/gone/", sitelog.batch_discard, name="batch_discard"),
    path("runs/<uuid:pk>/curing/", sitelog.run_curing_begin, name="run_curing_begin"),
    path("curings/<uuid:pk>/end/", sitelog.curing_end, name="curing_end"),
]

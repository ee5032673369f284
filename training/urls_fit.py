"""Addresses of people's papers: what they have shown before they go to the practical task."""

from django.urls import path

from training.views import fit, papers

urlpatterns = [
    path("runs/<uuid:pk>/papers/", fit.run_papers, name="run_papers"),
    path("papers/mine/", papers.my_papers, name="my_papers"),
    path("papers/<uuid:pk>/file/", papers.document_file, name="document_file"),
    path("papers/<uuid:pk>/take-back/", papers.document_take_back, name="document_take_back"),
    path("people/<int:pk>/papers/", papers.person_papers, name="person_papers"),
    path("people/<int:pk>/papers/new/", papers.document_new, name="document_new"),
]

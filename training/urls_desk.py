"""Addresses of a program's desk: what its modules are taught from."""

from django.urls import path

from training.views import materials

urlpatterns = [
    path("programs/<uuid:pk>/materials/new/", materials.material_new, name="material_new"),
    path("materials/<uuid:pk>/", materials.material_file, name="material_file"),
]

"""Addresses of the crew's projects."""

from django.urls import URLPattern, path

from certificates.views import posts, projects

urlpatterns: list[URLPattern] = [
    path("projects/", projects.project_list, name="project_list"),
    path("projects/new/", projects.project_new, name="project_new"),
    path("projects/<uuid:pk>/", projects.project_page, name="project"),
    path("projects/<uuid:pk>/edit/", projects.project_edit, name="project_edit"),
    path("projects/<uuid:pk>/copy/", projects.project_copy, name="project_copy"),
    path("projects/<uuid:pk>/posts/new/", posts.post_new, name="post_new"),
    path("projects/<uuid:pk>/posts/file/", posts.posts_file, name="posts_file"),
    path("projects/<uuid:pk>/posts.csv", posts.posts_csv, name="posts_csv"),
    path("posts/<uuid:pk>/edit/", posts.post_edit, name="post_edit"),
    path("posts/<uuid:pk>/remove/", posts.post_remove, name="post_remove"),
]

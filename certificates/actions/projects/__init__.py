"""What is done to projects and their posts."""

from certificates.actions.projects.posts import PostRefused, add_post, change_post, remove_post
from certificates.actions.projects.projects import change_project, copy_project, create_project
from certificates.actions.projects.values import ChangedMeanwhile, PostValues, values_of

__all__ = [
    "ChangedMeanwhile",
    "PostRefused",
    "PostValues",
    "add_post",
    "change_post",
    "change_project",
    "copy_project",
    "create_project",
    "remove_post",
    "values_of",
]

"""Erasing one's own account, and what is kept of anybody: outside any studio."""

from django.urls import path

from lessons.erasing.views import account, kept

urlpatterns = [
    path("erase-account/", account.erase_account, name="erase_account"),
    path("kept/", kept.of_the_site, name="what_is_kept"),
]

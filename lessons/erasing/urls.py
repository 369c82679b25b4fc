"""Erasing one's own account, outside any studio."""

from django.urls import path

from lessons.erasing.views import account

urlpatterns = [path("erase-account/", account.erase_account, name="erase_account")]

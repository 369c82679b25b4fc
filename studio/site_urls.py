"""Addresses outside any studio."""

from django.urls import path

from studio import views

urlpatterns = [
    path("", views.start, name="start"),
]

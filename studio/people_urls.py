"""Addresses of a studio's own affairs: its people, terms and settings."""

from django.urls import path

from studio import views

urlpatterns = [
    path("", views.home, name="home"),
    path("people/", views.home, name="people"),
]

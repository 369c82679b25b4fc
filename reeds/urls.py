"""Addresses of one reed's life."""

from django.urls import path

from reeds.views import photos, reeds

app_name = "reeds"
urlpatterns = [
    path("reeds/", reeds.reeds, name="reeds"),
    path("reeds/new/", reeds.make, name="make"),
    path("reeds/<int:pk>/", reeds.reed, name="reed"),
    path("sheets/", reeds.reeds, name="patterns"),
    path("box/", reeds.box, name="box"),
    path("photos/<int:pk>/<slug:size>/", photos.photo_file, name="photo"),
]

"""Addresses of one reed's life."""

from django.urls import path

from reeds.views import offsets, patterns, photos, reeds

app_name = "reeds"
urlpatterns = [
    path("reeds/", reeds.reeds, name="reeds"),
    path("reeds/new/", reeds.make, name="make"),
    path("reeds/<int:pk>/", reeds.reed, name="reed"),
    path("sheets/", patterns.patterns, name="patterns"),
    path("sheets/new/", patterns.new, name="pattern-new"),
    path("sheets/<int:pk>/", patterns.pattern, name="pattern"),
    path("sheets/<int:pk>/change/", patterns.edit, name="pattern-edit"),
    path("sheets/<int:pk>/put-away/", patterns.put_away, name="pattern-put-away"),
    path("people/<int:pk>/offsets/", offsets.offsets, name="offsets"),
    path("box/", reeds.box, name="box"),
    path("photos/<int:pk>/<slug:size>/", photos.photo_file, name="photo"),
]

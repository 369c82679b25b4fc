"""The site's addresses. Pages of a studio carry its id; the apps are joined by name, so nothing is imported."""

from django.urls import include, path

urlpatterns = [
    path("", include("studio.site_urls")),
    path("account/", include("allauth.account.urls")),
    path("studio/<int:studio>/", include("reeds.urls")),
    path("studio/<int:studio>/", include("lessons.urls")),
    path("studio/<int:studio>/", include("studio.people_urls")),
]

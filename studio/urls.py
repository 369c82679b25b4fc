"""The site's addresses: a studio's pages carry its id; the apps are joined by name, nothing is imported."""

from django.urls import include, path

urlpatterns = [
    path("", include("studio.site_urls")),
    path("", include("lessons.erasing.urls")),
    path("calendar/", include("lessons.calendar.urls")),
    path("account/", include("allauth.account.urls")),
    path("account/second-step/", include("allauth.mfa.urls")),
    path("studio/<int:studio>/", include("reeds.urls")),
    path("studio/<int:studio>/", include("lessons.urls")),
    path("studio/<int:studio>/", include("studio.people_urls")),
]

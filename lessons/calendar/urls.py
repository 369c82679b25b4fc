"""The one address of lessons outside any studio: a calendar, for whoever has its link."""

from django.urls import path

from lessons.calendar import views

urlpatterns = [path("<str:token>.ics", views.feed, name="calendar_feed")]

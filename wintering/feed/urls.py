"""Addresses of calendars."""

from django.urls import path

from wintering.feed import views

app_name = "feed"
urlpatterns = [
    path("calendar/", views.calendar, name="calendar"),
    path("calendar/new-link/", views.new_link, name="new-link"),
    path("calendar/revoke/", views.revoke, name="revoke"),
    path("calendar/reminders/", views.reminders, name="reminders"),
    path("calendar/<str:token>.ics", views.ics, name="ics"),
]

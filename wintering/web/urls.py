"""Addresses of the pages."""

from django.urls import path

from wintering.web.views import health, signing, today

app_name = "web"
urlpatterns = [
    path("", today.today, name="today"),
    path("sign-in/", signing.sign_in, name="sign-in"),
    path("sign-out/", signing.sign_out, name="sign-out"),
    path("healthz", health.health, name="health"),
]

from django.urls import URLPattern

app_name = "feed"
urlpatterns: list[URLPattern] = []

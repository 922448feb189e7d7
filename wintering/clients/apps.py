from django.apps import AppConfig


class ClientsConfig(AppConfig):
    name = "wintering.clients"
    label = "clients"

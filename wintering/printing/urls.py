"""Addresses of what is made for paper."""

from django.urls import path

from wintering.printing import views

app_name = "printing"
urlpatterns = [
    path("frames/<slug:slug>/sheet.pdf", views.bench_sheet_pdf, name="bench-sheet"),
    path("trees/<str:number>/label.pdf", views.tree_label_pdf, name="tree-label"),
]

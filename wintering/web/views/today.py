"""The first page: what matters now."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from wintering.trees.queries import trees_for


@require_safe
def today(request: HttpRequest) -> HttpResponse:
    context = {"tree_count": trees_for(request.user).count()}
    return render(request, "web/today.html", context)

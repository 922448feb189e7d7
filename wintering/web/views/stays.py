"""Stays: this winter's list, taking a tree in, handing it back."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import (
    require_http_methods,
    require_POST,
    require_safe,
)
from django_tables2 import RequestConfig

from wintering.science.winter import Winter
from wintering.stays.models import Stay
from wintering.stays.queries import stays_for
from wintering.stays.services import check_out_tree, confirm_stay
from wintering.web.forms.conditions import ConditionForm
from wintering.web.forms.stays import CheckOutForm
from wintering.web.tables.stays import StayTable
from wintering.web.views import keepers_only


@require_safe
def stay_list(request: HttpRequest) -> HttpResponse:
    winter = _winter(request)
    stays = stays_for(request.user).filter(winter=winter.start_year)
    table = StayTable(stays.order_by("tree__serial"))
    RequestConfig(request, paginate={"per_page": 50}).configure(table)
    content = {
        "winter": winter,
        "winters": _winters(stays_for(request.user), winter),
        "table": table,
        "here": stays.filter(until=None).count(),
        "drafts": stays.filter(confirmed_at=None, until=None),
    }
    return render(request, "web/stay_list.html", content)


@require_safe
def stay_detail(request: HttpRequest, pk: int) -> HttpResponse:
    stay = get_object_or_404(stays_for(request.user), pk=pk)
    content = {
        "stay": stay,
        "winter": Winter(stay.winter),
        "reports": stay.condition_reports.select_related("by"),
        "may_see_values": not request.user.is_staffing or request.user.is_keeper,
    }
    return render(request, "web/stay_detail.html", content)


@require_POST
@keepers_only
def confirm(request: HttpRequest, pk: int) -> HttpResponse:
    stay = get_object_or_404(stays_for(request.user), pk=pk)
    try:
        confirm_stay(stay=stay, by=request.user)
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
    else:
        messages.success(request, f"The check-in of {stay.tree.number} is confirmed.")
    return redirect("web:stay-detail", stay.pk)


@require_http_methods(["GET", "POST"])
@keepers_only
def check_out(request: HttpRequest, pk: int) -> HttpResponse:
    stay = get_object_or_404(stays_for(request.user), pk=pk)
    form = CheckOutForm(request.POST or None, initial={"on": timezone.localdate()})
    found = ConditionForm(request.POST or None, prefix="found")
    if form.is_valid() and found.is_valid():
        try:
            check_out_tree(
                stay=stay,
                by=request.user,
                condition=found.cleaned_data,
                **form.cleaned_data,
            )
        except ValidationError as refusal:
            form.add_error(None, refusal.messages)
        else:
            messages.success(request, f"{stay.tree.number} is handed back.")
            return redirect("web:stay-detail", stay.pk)
    content = {"stay": stay, "form": form, "found": found}
    content["reports"] = stay.condition_reports.select_related("by")
    return render(request, "web/check_out.html", content)


def _winter(request: HttpRequest) -> Winter:
    """The winter asked for by its first year; this one where none is."""
    year = request.GET.get("winter", "")
    now = Winter.of(timezone.localdate())
    return Winter(int(year)) if year.isascii() and year.isdigit() else now


def _winters(stays: QuerySet[Stay], shown: Winter) -> list[Winter]:
    years = set(stays.order_by().values_list("winter", flat=True).distinct())
    years |= {shown.start_year, Winter.of(timezone.localdate()).start_year}
    return [Winter(year) for year in sorted(years, reverse=True)]

"""Clients, and what was agreed with them for a winter."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import Count, Prefetch, Q
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from wintering.clients.models import Agreement
from wintering.clients.queries import clients_for
from wintering.clients.services import add_client, agree
from wintering.people.services import record
from wintering.science.winter import Winter
from wintering.stays.queries import stays_for, trees_in_care
from wintering.web.forms.clients import AgreementForm, ClientForm
from wintering.web.views import keepers_only

# The winters that an agreement is written for.
FIRST_WINTER, LAST_WINTER = 1950, 2199


@require_safe
@keepers_only
def client_list(request: HttpRequest) -> HttpResponse:
    winter = Winter.of(timezone.localdate())
    agreed = Agreement.objects.filter(winter=winter.start_year)
    here = Q(stays__winter=winter.start_year, stays__until=None)
    clients = clients_for(request.user).annotate(trees_here=Count("stays", filter=here))
    clients = clients.prefetch_related(
        Prefetch("agreements", agreed, to_attr="agreed_now")
    )
    content = {"winter": winter, "clients": clients}
    return render(request, "web/client_list.html", content)


@require_http_methods(["GET", "POST"])
@keepers_only
def client_add(request: HttpRequest) -> HttpResponse:
    form = ClientForm(request.POST or None)
    if form.is_valid():
        try:
            client = add_client(by=request.user, **form.cleaned_data)
        except ValidationError as refusal:
            form.add_error(None, refusal)
        else:
            messages.success(request, f"{client} is added.")
            return redirect("web:client-detail", client.pk)
    return render(request, "web/client_form.html", {"form": form})


@require_safe
def client_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """For keepers, and for the client in person: contacts are no helper's matter."""
    client = get_object_or_404(clients_for(request.user), pk=pk)
    if not (request.user.is_keeper or client.user_id == request.user.pk):
        raise Http404("There is no such page.")
    today = timezone.localdate()
    content = {
        "owner": client,
        "winter": Winter.of(today),
        "agreements": [
            (Winter(agreement.winter), agreement)
            for agreement in client.agreements.all()
        ],
        "stays": stays_for(request.user).filter(client=client),
        "trees_before": client.trees.exclude(pk__in=trees_in_care(today)),
    }
    return render(request, "web/client_detail.html", content)


@require_http_methods(["GET", "POST"])
@keepers_only
def client_edit(request: HttpRequest, pk: int) -> HttpResponse:
    client = get_object_or_404(clients_for(request.user), pk=pk)
    form = ClientForm(request.POST or None, instance=client)
    if form.is_valid():
        form.save()
        record(request.user, "changed", client, fields=form.changed_data)
        return redirect("web:client-detail", client.pk)
    return render(request, "web/client_form.html", {"form": form, "owner": client})


@require_http_methods(["GET", "POST"])
@keepers_only
def client_agreement(request: HttpRequest, pk: int, winter: int) -> HttpResponse:
    client = get_object_or_404(clients_for(request.user), pk=pk)
    if not FIRST_WINTER <= winter <= LAST_WINTER:
        raise Http404("No winter of that year.")
    agreement = client.agreements.filter(winter=winter).first()
    form = AgreementForm(request.POST or None, instance=agreement)
    if form.is_valid():
        try:
            _keep(request, form, agreement, client=client, winter=winter)
        except ValidationError as refusal:
            form.add_error(None, refusal)
        else:
            return redirect("web:client-detail", client.pk)
    content = {"form": form, "owner": client, "winter": Winter(winter)}
    return render(request, "web/client_agreement.html", content)


def _keep(
    request: HttpRequest,
    form: AgreementForm,
    agreement: Agreement | None,
    **what: object,
) -> None:
    if agreement is None:
        agree(by=request.user, **what, **form.cleaned_data)
        return
    form.save()
    record(request.user, "changed", agreement, fields=form.changed_data)

"""Trees: the inventory, one tree, entering and changing the keeper's own."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import (
    require_http_methods,
    require_POST,
    require_safe,
)
from django_tables2 import RequestConfig

from wintering.trees.models import Tree
from wintering.trees.queries import trees_for
from wintering.web.drafts import open_draft
from wintering.web.forms.trees import TreeFilterForm, TreePhotoForm
from wintering.web.own_tree import ChangedTree, NewTree, enter
from wintering.web.tables.tree_export import csv_of
from wintering.web.tables.trees import TreeTable, tree_rows
from wintering.web.tree_page import tree_page
from wintering.web.views import keepers_only, staff_only

ROWS_A_LEAF = 50


@require_safe
def tree_list(request: HttpRequest) -> HttpResponse:
    narrowed = TreeFilterForm(request.GET, user=request.user)
    seen = trees_for(request.user)
    rows = narrowed.among_rows(
        tree_rows(narrowed.among_trees(seen), request.user, timezone.now())
    )
    table = TreeTable(rows)
    is_whole = request.GET.get("leaf") == "whole"
    leaf = False if is_whole else {"per_page": ROWS_A_LEAF, "silent": True}
    RequestConfig(request, paginate=leaf).configure(table)
    if request.GET.get("export") == "csv":
        return _csv([row.record for row in table.rows])
    content = {
        "table": table,
        "form": narrowed,
        "found": len(rows),
        "count": seen.count(),
        "is_narrowed": bool(narrowed.chosen),
    }
    return render(request, "web/tree_list.html", content)


def _csv(rows: list) -> HttpResponse:
    answer = HttpResponse(csv_of(rows), content_type="text/csv; charset=utf-8")
    name = f"trees-{timezone.localdate()}.csv"
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


@require_safe
def tree_detail(request: HttpRequest, number: str) -> HttpResponse:
    tree = get_object_or_404(trees_for(request.user), number=number)
    content = {
        "tree": tree,
        "page": tree_page(tree, request.user, timezone.now()),
        "photo_form": TreePhotoForm(),
    }
    return render(request, "web/tree_detail.html", content)


@require_http_methods(["GET", "POST"])
@keepers_only
def tree_new(request: HttpRequest) -> HttpResponse:
    draft = open_draft(request.session, request.POST.get("draft", ""))
    if draft.done:
        return redirect(Tree.objects.get(pk=draft.done))
    typed = request.POST if request.method == "POST" else None
    entry = NewTree(by=request.user, typed=typed, files=request.FILES or None)
    if typed is not None and (tree := enter(entry, draft)):
        messages.success(request, f"{tree.number} is entered.")
        return redirect(tree)
    return render(
        request, "web/tree_form.html", {"entry": entry, "draft": draft, **entry.parts}
    )


@require_http_methods(["GET", "POST"])
@keepers_only
def tree_edit(request: HttpRequest, number: str) -> HttpResponse:
    tree = get_object_or_404(trees_for(request.user), number=number)
    typed = request.POST if request.method == "POST" else None
    entry = ChangedTree(tree=tree, by=request.user, typed=typed)
    if typed is not None and entry.is_valid() and entry.save():
        messages.success(request, f"{tree.number}: your changes are kept.")
        return redirect(tree)
    return render(request, "web/tree_form.html", {"entry": entry, **entry.parts})


@require_POST
@staff_only
def tree_photo(request: HttpRequest, number: str) -> HttpResponse:
    tree = get_object_or_404(trees_for(request.user), number=number)
    form = TreePhotoForm(request.POST, request.FILES)
    if form.is_valid() and form.save(tree=tree, by=request.user):
        return redirect(tree)
    content = {
        "tree": tree,
        "page": tree_page(tree, request.user, timezone.now()),
        "photo_form": form,
    }
    return render(request, "web/tree_detail.html", content)

"""Addresses of the shelf."""

from collections.abc import Callable
from datetime import date
from typing import Any

from django.urls import path

from practice.lib.profile import Profile
from stock.models import Order
from stock.tables import Causes
from stock.views import counting, facts, items, methods, orders, shelf_value, usage

app_name = "stock"
urlpatterns = [
    path("truck/usage/", usage.usage_page, name="usage"),
    path("items/add/", items.item_change, name="item-add"),
    path("items/<int:pk>/change/", items.item_change, name="item-change"),
    path("items/<int:pk>/archive/", items.item_archive, name="item-archive"),
    *[
        path(f"items/<int:pk>/{page}/", facts.item_fact, {"page": page}, name=f"item-{page}")
        for page in facts.PAGES
    ],
    path("orders/", orders.order_list, name="order-list"),
    path("orders/add/", orders.order_add, name="order-add"),
    path("orders/<int:pk>/change/", orders.order_change, name="order-change"),
    path("orders/<int:pk>/expected/", orders.order_expected, name="order-expected"),
    path("orders/<int:pk>/receive/", orders.order_receive, name="order-receive"),
    path("orders/<int:pk>/cancel/", orders.order_cancel, name="order-cancel"),
    path("orders/<int:pk>/pdf/", orders.order_document, name="order-pdf"),
    path("orders/<int:pk>/csv/", orders.order_csv_file, name="order-csv"),
    path("order-lines/<int:pk>/cancel/", orders.line_cancel, name="line-cancel"),
    path("receipts/<int:pk>/take-back/", orders.receipt_take_back, name="receipt-take-back"),
    path("shelf-value/", shelf_value.shelf_value, name="shelf-value"),
    path("shelf-value/csv/", shelf_value.shelf_value_csv, name="shelf-value-csv"),
    path("counts/", counting.count_list, name="count-list"),
    path("counts/<int:key>/", counting.count_sheet, name="count-sheet"),
    path("counts/<int:key>/review/", counting.count_review, name="count-review"),
    path("counts/<int:key>/post/", counting.count_post, name="count-post"),
    path("counts/<int:key>/paper/", counting.count_paper_file, name="count-paper"),
    path("suppliers/", items.supplier_list, name="supplier-list"),
    path("suppliers/add/", items.supplier_change, name="supplier-add"),
    path("suppliers/<int:pk>/change/", items.supplier_change, name="supplier-change"),
    path("settings/cost-of-the-shelf/", methods.valuation_list, name="valuation-list"),
    path(
        "settings/cost-of-the-shelf/<int:pk>/take-back/",
        methods.valuation_take_back,
        name="valuation-take-back",
    ),
    path("places-of-stock/", items.location_list, name="location-list"),
    path("places-of-stock/add/", items.location_change, name="location-add"),
    path("places-of-stock/<int:pk>/change/", items.location_change, name="location-change"),
]


def patterns(
    causes: Causes, low: Callable[[date], list], mail: Callable[[Order, Profile, date], Any]
) -> list:
    """Return the addresses.

    `causes` says what caused a fact, `low` what to order or to wait for on a day, `mail` which messages went
    out about an order: this part knows none of them.
    """
    return [
        path("truck/", items.truck, {"low": low}, name="truck"),
        path("items/<int:pk>/", items.item_detail, {"causes": causes}, name="item-detail"),
        path("orders/<int:pk>/", orders.order_detail, {"mail": mail}, name="order-detail"),
        path("facts/<int:pk>/take-back/", facts.fact_reverse, {"causes": causes}, name="fact-reverse"),
        *urlpatterns,
    ]

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
    path("items/<id:pk>/change/", items.item_change, name="item-change"),
    path("items/<id:pk>/archive/", items.item_archive, name="item-archive"),
    *[
        path(f"items/<id:pk>/{page}/", facts.item_fact, {"page": page}, name=f"item-{page}")
        for page in facts.PAGES
    ],
    path("orders/", orders.order_list, name="order-list"),
    path("orders/add/", orders.order_add, name="order-add"),
    path("orders/<id:pk>/change/", orders.order_change, name="order-change"),
    path("orders/<id:pk>/expected/", orders.order_expected, name="order-expected"),
    path("orders/<id:pk>/receive/", orders.order_receive, name="order-receive"),
    path("orders/<id:pk>/cancel/", orders.order_cancel, name="order-cancel"),
    path("orders/<id:pk>/pdf/", orders.order_document, name="order-pdf"),
    path("orders/<id:pk>/csv/", orders.order_csv_file, name="order-csv"),
    path("order-lines/<id:pk>/cancel/", orders.line_cancel, name="line-cancel"),
    path("receipts/<id:pk>/take-back/", orders.receipt_take_back, name="receipt-take-back"),
    path("shelf-value/", shelf_value.shelf_value, name="shelf-value"),
    path("shelf-value/csv/", shelf_value.shelf_value_csv, name="shelf-value-csv"),
    path("counts/", counting.count_list, name="count-list"),
    path("counts/<shelf:key>/", counting.count_sheet, name="count-sheet"),
    path("counts/<shelf:key>/review/", counting.count_review, name="count-review"),
    path("counts/<shelf:key>/post/", counting.count_post, name="count-post"),
    path("counts/<shelf:key>/paper/", counting.count_paper_file, name="count-paper"),
    path("suppliers/", items.supplier_list, name="supplier-list"),
    path("suppliers/add/", items.supplier_change, name="supplier-add"),
    path("suppliers/<id:pk>/change/", items.supplier_change, name="supplier-change"),
    path("settings/cost-of-the-shelf/", methods.valuation_list, name="valuation-list"),
    path(
        "settings/cost-of-the-shelf/<id:pk>/take-back/",
        methods.valuation_take_back,
        name="valuation-take-back",
    ),
    path("places-of-stock/", items.location_list, name="location-list"),
    path("places-of-stock/add/", items.location_change, name="location-add"),
    path("places-of-stock/<id:pk>/change/", items.location_change, name="location-change"),
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
        path("items/<id:pk>/", items.item_detail, {"causes": causes}, name="item-detail"),
        path("orders/<id:pk>/", orders.order_detail, {"mail": mail}, name="order-detail"),
        path("facts/<id:pk>/take-back/", facts.fact_reverse, {"causes": causes}, name="fact-reverse"),
        *urlpatterns,
    ]

"""Addresses of the shelf."""

from django.urls import path

from stock.views import items

app_name = "stock"
urlpatterns = [
    path("truck/", items.truck, name="truck"),
    path("items/add/", items.item_change, name="item-add"),
    path("items/<int:pk>/", items.item_detail, name="item-detail"),
    path("items/<int:pk>/change/", items.item_change, name="item-change"),
    path("items/<int:pk>/archive/", items.item_archive, name="item-archive"),
    path("items/<int:pk>/receive/", items.item_receive, name="item-receive"),
    path("items/<int:pk>/count/", items.item_count, name="item-count"),
    path("suppliers/", items.supplier_list, name="supplier-list"),
    path("suppliers/add/", items.supplier_change, name="supplier-add"),
    path("suppliers/<int:pk>/change/", items.supplier_change, name="supplier-change"),
]

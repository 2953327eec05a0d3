"""Addresses of money."""

from django.urls import path

from billing.views import closing, equipment, expenses, mileage_rates, money, pack, sales_tax, year

app_name = "billing"
urlpatterns = [
    path("close/<str:day>/", closing.close_day, name="close-day"),
    path("year/", year.year_now, name="year-now"),
    path("year/<int:year>/", year.year_page, name="year"),
    path("year/<int:year>/close/", year.year_close, name="year-close"),
    path("year/<int:year>/open/", year.year_open, name="year-open"),
    path("sales-tax/", sales_tax.sales_tax_page, name="sales-tax"),
    path("estimated-payments/add/", year.estimated_change, name="estimated-add"),
    path("estimated-payments/<int:pk>/change/", year.estimated_change, name="estimated-change"),
    path("estimated-payments/<int:pk>/remove/", year.estimated_remove, name="estimated-remove"),
    path("year/<int:year>/pack/", pack.year_pack, name="year-pack"),
    path("money/", money.owed, name="owed"),
    path("invoices/", money.invoice_list, name="invoice-list"),
    path("invoices/<int:pk>/", money.invoice_detail, name="invoice-detail"),
    path("invoices/<int:pk>/pdf/", money.invoice_document, name="invoice-pdf"),
    path("payments/", money.payment_list, name="payment-list"),
    path("expenses/", expenses.expense_list, name="expense-list"),
    path("expenses/add/", expenses.expense_add, name="expense-add"),
    path("expenses/<int:pk>/change/", expenses.expense_change, name="expense-change"),
    path("expenses/<int:pk>/remove/", expenses.expense_remove, name="expense-remove"),
    path("expenses/<int:pk>/receipt/", expenses.expense_receipt, name="expense-receipt"),
    path("repeating-expenses/", expenses.repeating_list, name="repeating-list"),
    path("repeating-expenses/add/", expenses.repeating_change, name="repeating-add"),
    path("repeating-expenses/<int:pk>/change/", expenses.repeating_change, name="repeating-change"),
    path("repeating-expenses/<int:pk>/leave-out/", expenses.repeating_leave_out, name="repeating-leave-out"),
    path("equipment/", equipment.equipment_list, name="equipment-list"),
    path("equipment/add/", equipment.equipment_change, name="equipment-add"),
    path("equipment/<int:pk>/change/", equipment.equipment_change, name="equipment-change"),
    path("clients/<int:client>/payments/add/", money.payment_add, name="payment-add"),
    path("clients/<int:pk>/account/", money.client_account, name="client-account"),
    path("services/<int:pk>/prices/", money.service_prices, name="service-prices"),
    path("items/<int:pk>/prices/", money.item_prices, name="item-prices"),
    path("tax-rates/", money.tax_rate_list, name="tax-rate-list"),
    path("tax-rates/add/", money.tax_rate_change, name="tax-rate-add"),
    path("tax-rates/<int:pk>/change/", money.tax_rate_change, name="tax-rate-change"),
    path("mileage-rates/", mileage_rates.mileage_rate_list, name="mileage-rate-list"),
    path("mileage-rates/add/", mileage_rates.mileage_rate_change, name="mileage-rate-add"),
    path("mileage-rates/<int:pk>/change/", mileage_rates.mileage_rate_change, name="mileage-rate-change"),
    path("mileage-rates/<int:pk>/back/", mileage_rates.mileage_rate_back, name="mileage-rate-back"),
]

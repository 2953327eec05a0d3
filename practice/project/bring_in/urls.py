"""Addresses of bringing in."""

from django.urls import path

from practice.project.bring_in import book_views, views

urlpatterns = [
    path("", views.start, name="bring-in"),
    path("files/<uuid:upload>/", views.choose_columns, name="bring-in-columns"),
    path("files/<uuid:upload>/sheet/", views.choose_sheet, name="bring-in-sheet"),
    path("files/<uuid:upload>/check/", views.check, name="bring-in-check"),
    path("files/<uuid:upload>/put-back/", views.put_back, name="bring-in-put-back"),
    path("files/<uuid:upload>/now/", views.bring_in_now, name="bring-in-now"),
    path("files/<uuid:upload>/discard/", views.discard, name="bring-in-discard"),
    path("book/", book_views.choose_zip, name="bring-in-book"),
    path("book/<uuid:folder>/", book_views.check_book, name="bring-in-book-check"),
    path("book/<uuid:folder>/now/", book_views.bring_in_book, name="bring-in-book-now"),
    path("book/<uuid:folder>/discard/", book_views.discard_book, name="bring-in-book-discard"),
    path("<slug:what>/", views.choose_file, name="bring-in-file"),
    path("<slug:what>/template/", views.template_file, name="bring-in-template"),
]

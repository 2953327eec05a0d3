"""Addresses of the phone: its program, what it keeps, what it sends, and what of that is to settle."""

from django.urls import path

from practice.project.phone import kept_views, program, settling_views, views

urlpatterns = [
    path("manifest.webmanifest", program.manifest, name="phone-manifest"),
    path("worker.js", program.worker, name="phone-worker"),
    path("phone/not-kept/", program.not_kept, name="phone-not-kept"),
    path("phone/kept.json", kept_views.kept_list, name="phone-kept-list"),
    path("phone/kept/", kept_views.kept_page, name="phone-kept"),
    path("phone/state/", views.state, name="phone-state"),
    path("phone/entries/", views.entries, name="phone-entries"),
    path("phone/settle/", settling_views.settle_list, name="phone-settle"),
]

"""Addresses of the phone: its program, and what it keeps."""

from django.urls import path

from practice.project.phone import kept_views, program

urlpatterns = [
    path("manifest.webmanifest", program.manifest, name="phone-manifest"),
    path("worker.js", program.worker, name="phone-worker"),
    path("phone/not-kept/", program.not_kept, name="phone-not-kept"),
    path("phone/kept.json", kept_views.kept_list, name="phone-kept-list"),
    path("phone/kept/", kept_views.kept_page, name="phone-kept"),
]

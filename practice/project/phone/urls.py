"""Addresses of the phone: pairing it, its program, what it keeps and sends, what of that is to settle."""

from django.urls import path, re_path

from practice.project.phone import kept_views, pairing_pages, program, settling_views, views

urlpatterns = [
    path("phones/", pairing_pages.phones, name="phones"),
    path("phone/trust/", pairing_pages.phone_trust, name="phone-trust"),
    path("phone/trust/certificate/", pairing_pages.phone_authority, name="phone-authority"),
    path("phone/pair/", pairing_pages.phone_pair, name="phone-pair"),
    path("manifest.webmanifest", program.manifest, name="phone-manifest"),
    path("worker.js", program.worker, name="phone-worker"),
    path("phone/not-kept/", program.not_kept, name="phone-not-kept"),
    path("phone/kept.json", kept_views.kept_list, name="phone-kept-list"),
    path("phone/kept/", kept_views.kept_page, name="phone-kept"),
    path("phone/state/", views.state, name="phone-state"),
    path("phone/entries/", views.entries, name="phone-entries"),
    re_path("/~[0-9a-f]{32}/", views.made_on_phone, name="phone-made"),
    path("phone/settle/", settling_views.settle_list, name="phone-settle"),
    path("phone/settle/<id:pk>/", settling_views.settle_entry, name="phone-settle-entry"),
    path("phone/settle/<id:pk>/form/", settling_views.settle_form, name="phone-settle-form"),
    path(
        "phone/settle/<id:pk>/pictures/<id:number>/",
        settling_views.settle_picture,
        name="phone-settle-photo",
    ),
]

"""Addresses of clients, horses, places, visits and the road."""

from collections.abc import Callable

from django.urls import path
from django.views.decorators.http import require_GET

from practice.lib.addresses import NOT_IN_BOOK
from practice.models import Client, Place, Service, Vehicle
from practice.views import (
    at_stop,
    findings,
    histories,
    horse_record,
    people,
    photos,
    planning,
    road,
    road_log,
    round,
    settings,
    shoeing,
    times,
    trade,
    visits,
)


def patterns(prices: Callable, owes: Callable) -> list:
    """Return the addresses. `prices` gives the prices of a day, `owes` says what a client owes on a day: this
    app knows neither.
    """
    return [
        *_on_phone(prices),
        path("clients/", people.client_list, name="client-list"),
        path("clients/add/", people.client_change, name="client-add"),
        path("clients/<id:pk>/", people.client_detail, {"owes": owes}, name="client-detail"),
        path("clients/<id:pk>/change/", people.client_change, name="client-change"),
        path("clients/<id:pk>/archive/", people.archive(Client), name="client-archive"),
        path("places/", people.place_list, name="place-list"),
        path("places/add/", people.place_change, name="place-add"),
        path("places/<id:pk>/", people.place_detail, name="place-detail"),
        path("places/<id:pk>/change/", people.place_change, name="place-change"),
        path("places/<id:pk>/archive/", people.archive(Place), name="place-archive"),
        path("places/<id:pk>/visits/", histories.place_visits, name="place-visits"),
        path("horses/", people.due_page, name="horse-list"),
        path("horses/all/", people.horse_list, name="horse-all"),
        path("horses/add/", people.horse_change, name="horse-add"),
        path("horses/<id:pk>/", people.horse_detail, name="horse-detail"),
        path("horses/<id:pk>/history/", histories.horse_history, name="horse-history"),
        path("horses/<id:pk>/change/", people.horse_change, name="horse-change"),
        path("horses/<id:pk>/plan/", round.horse_plan, name="horse-plan"),
        path("horses/<id:pk>/owners/", people.horse_owners, name="horse-owners"),
        path("horses/<id:pk>/record/", horse_record.horse_record, name="horse-record"),
        path("horses/<id:pk>/photos/", photos.horse_photos, name="horse-photos"),
        path("horses/<id:pk>/photos/add/", photos.photo_add, name="photo-add"),
        path("horses/<id:pk>/prescriptions/add/", shoeing.prescription_add, name="prescription-add"),
        path("prescriptions/<id:pk>/", shoeing.prescription_change, name="prescription-change"),
        path("photos/<id:pk>/", photos.photo_change, name="photo-change"),
        path("photos/<id:pk>/remove/", photos.photo_remove, name="photo-remove"),
        path("photos/<id:pk>/file/", photos.horse_photo, name="horse-photo"),
        path("photos/<id:pk>/small/", photos.small_photo, name="small-photo"),
        path("services/", trade.service_list, {"prices": prices}, name="service-list"),
        path("services/add/", trade.service_change, name="service-add"),
        path("services/<id:pk>/change/", trade.service_change, name="service-change"),
        path("services/<id:pk>/archive/", people.archive(Service), name="service-archive"),
        path("vehicles/", trade.vehicle_list, name="vehicle-list"),
        path("vehicles/add/", trade.vehicle_change, name="vehicle-add"),
        path("vehicles/<id:pk>/change/", trade.vehicle_change, name="vehicle-change"),
        path("vehicles/<id:pk>/archive/", people.archive(Vehicle), name="vehicle-archive"),
        path("vehicles/<id:pk>/replace/", road.vehicle_replace, name="vehicle-replace"),
        path("vehicles/<id:pk>/odometer/", road.odometer_change, name="odometer-change"),
        path("odometers/<id:pk>/undo/", road.odometer_undo, name="odometer-undo"),
        path("settings/", settings.settings, name="settings"),
        *[
            path(f"settings/{name}/", settings.settings_section, {"section": name}, name=f"settings-{name}")
            for name in settings.SECTIONS
        ],
        path("sun/", trade.sun, name="sun"),
        path("road/", road_log.month, name="road"),
        path("road/log/", road_log.log, name="road-log"),
        path("road/log/pdf/", road_log.log_pdf, name="road-log-pdf"),
        path("road/log/csv/", road_log.log_csv_file, name="road-log-csv"),
        path("road/<month:month>/", road_log.month, name="road-month"),
        path("truck/plan/", planning.plan, name="plan"),
        path("items/<id:pk>/why/", planning.why, name="item-why"),
        path("load/<day:day>/", planning.load, name="load-list"),
        path("load/<day:day>/pdf/", planning.load_document, name="load-pdf"),
        path("round/", round.round_today, name="round-today"),
        path("round/<day:day>/", round.round_page, name="round"),
        path("round/<day:day>/plan/", round.visit_plan, name="visit-plan"),
        path("round/<day:day>/readings/<id:vehicle>/", road.keep_readings, name="readings"),
        path("round/<day:day>/legs/<id:vehicle>/add/", road.leg_add, name="leg-add"),
        path("round/<day:day>/legs/<id:vehicle>/take/", road.take, name="leg-take"),
        path("round/<day:day>/gaps/<id:vehicle>/<reading:end>/", road.gap_fill, name="gap-fill"),
        path("legs/<id:pk>/change/", road.leg_change, name="leg-change"),
        path("legs/<id:pk>/remove/", road.leg_remove, name="leg-remove"),
        path("visits/<id:pk>/", visits.visit_detail, name="visit-detail"),
        path("visits/<id:pk>/arrive/", times.visit_arrive, name="visit-arrive"),
        path("visits/<id:pk>/times/", times.visit_times, name="visit-times"),
        path("visits/<id:pk>/complete/", visits.visit_complete, name="visit-complete"),
        path("visits/<id:pk>/as-last-time/", visits.visit_as_last_time, name="visit-as-last-time"),
        path("visits/<id:pk>/return/", visits.visit_return, name="visit-return"),
        path("visits/<id:pk>/move/", round.visit_move, name="visit-move"),
        path("visits/<id:pk>/cancel/", round.visit_cancel, name="visit-cancel"),
        path("visits/<id:pk>/reopen/", round.visit_reopen, name="visit-reopen"),
        path("visits/<id:pk>/reorder/", round.visit_reorder, name="visit-reorder"),
        path("visits/<id:pk>/horses/add/", at_stop.horse_add, name="visit-horse-add"),
        path("visits/<id:pk>/next-call/", at_stop.next_call, name="visit-next-call"),
        path("visits/<id:pk>/horses/<id:horse>/", visits.visit_horse, {"prices": prices}, name="visit-horse"),
        path(
            "visits/<id:pk>/horses/<id:horse>/remove/", visits.visit_horse_remove, name="visit-horse-remove"
        ),
        path("visits/<id:pk>/horses/<id:horse>/feet/", shoeing.visit_feet, name="visit-feet"),
        path("visits/<id:pk>/horses/<id:horse>/finding/", findings.finding_add, name="finding-add"),
        path("horses/<id:pk>/findings/", findings.horse_findings, name="horse-findings"),
        path("findings/<id:pk>/change/", findings.finding_change, name="finding-change"),
        path("findings/<id:pk>/delete/", findings.finding_delete, name="finding-delete"),
        path("findings/<id:pk>/told/", findings.finding_told, name="finding-told"),
        path("signs/", findings.sign_list, name="sign-list"),
        path("signs/add/", findings.sign_change, name="sign-add"),
        path("signs/<uuid:sign>/change/", findings.sign_change, name="sign-change"),
    ]


def _on_phone(prices: Callable) -> list:
    """Return the addresses of pages about a stop, or a horse, that is only on a phone so far."""
    stop, horse = {"pk": NOT_IN_BOOK}, {"horse": NOT_IN_BOOK}
    work, here = require_GET(visits.visit_horse), horse | {"prices": prices}
    finding, feet = require_GET(findings.finding_add), require_GET(shoeing.visit_feet)
    return [
        path("visits/~/", visits.visit_detail, stop, name="visit-on-phone"),
        path("visits/~/horses/add/", require_GET(at_stop.horse_add), stop, name="horse-add-on-phone"),
        path("visits/~/horses/~/", work, stop | here, name="horse-on-phone"),
        path("visits/~/horses/~/finding/", finding, stop | horse, name="finding-on-phone"),
        path("visits/~/horses/~/feet/", feet, stop | horse, name="feet-on-phone"),
        path("visits/<id:pk>/horses/~/", work, here, name="visit-horse-on-phone"),
    ]

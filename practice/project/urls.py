"""The root of all addresses. Each part brings its own; what it needs from above it gets here."""

from django.urls import include, path

from billing.reports.mail_state import mail_about_order
from billing.reports.price_list import prices_on
from billing.reports.receivable import owes_in_words
from practice import urls as practice_urls
from practice.project.backup import views as backups
from practice.project.begin.views import begin, begin_put_away, own_book
from practice.project.find.views import find
from practice.project.health import health
from practice.project.home import home
from practice.project.login import Login, Logout
from practice.project.logins import logins
from practice.project.passwords import password_change
from practice.reports.causes import causes_of
from practice.reports.planner import low_on
from stock import urls as stock_urls

urlpatterns = [
    path("health/", health, name="health"),
    path("login/", Login.as_view(), name="login"),
    path("logout/", Logout.as_view(), name="logout"),
    path("password/", password_change, name="password"),
    path("logins/", logins, name="logins"),
    path("bring-in/", include("practice.project.bring_in.urls")),
    path("backups/", backups.backup_list, name="backup-list"),
    path("backups/now/", backups.backup_now, name="backup-now"),
    path("backups/folder/", backups.backup_folder, name="backup-folder"),
    path("backups/<slug:backup>/", backups.backup_detail, name="backup-detail"),
    path("backups/<slug:backup>/file/", backups.backup_file, name="backup-file"),
    path("backups/<slug:backup>/restore/", backups.backup_restore, name="backup-restore"),
    path("", home, name="home"),
    path("own-book/", own_book, name="own-book"),
    path("begin/", begin, name="begin"),
    path("begin/put-away/", begin_put_away, name="begin-put-away"),
    path("find/", find, name="find"),
    path("", include("practice.project.phone.urls")),
    path("", include((practice_urls.patterns(prices=prices_on, owes=owes_in_words), "practice"))),
    path("", include((stock_urls.patterns(causes=causes_of, low=low_on, mail=mail_about_order), "stock"))),
    path("", include("billing.urls")),
]
handler500 = "practice.project.failures.server_error"

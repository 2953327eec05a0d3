"""The root of all addresses. Each part brings its own: `path("", include("practice.urls"))`."""

from django.urls import path

from practice.project.health import health
from practice.project.login import Login, Logout

urlpatterns = [
    path("health/", health, name="health"),
    path("login/", Login.as_view(), name="login"),
    path("logout/", Logout.as_view(), name="logout"),
    # Home (name="home") and the parts' includes go here.
]

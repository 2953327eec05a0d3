"""The root of all addresses."""

urlpatterns = []

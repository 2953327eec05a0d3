"""Log in and out; after five wrong passwords django-axes shuts the door for a quarter of an hour."""

from django.contrib.auth import views
from django.contrib.auth.decorators import login_not_required
from django.utils.decorators import method_decorator


@method_decorator(login_not_required, name="dispatch")
class Login(views.LoginView):
    template_name = "login.html"
    redirect_authenticated_user = True

    def get_form(self, form_class=None):
        form = super().get_form(form_class)
        form.fields["username"].label, form.fields["password"].label = "Name", "Password"
        form.error_messages["invalid_login"] = "Name and password do not go together. Type both again."
        return form


class Logout(views.LogoutView):
    pass

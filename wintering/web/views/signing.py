"""Signing in and out: the framework's own views in this project's pages."""

from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView, LogoutView


class SignInForm(AuthenticationForm):
    error_messages = {
        "invalid_login": (
            "Name and password do not belong together. "
            "Check the capitals, then try again."
        ),
        "inactive": "This person is no longer active here. Ask the keeper.",
    }


# Open by its nature: LoginView itself is exempt from the sign-in that it offers.
sign_in = LoginView.as_view(
    template_name="web/sign_in.html",
    authentication_form=SignInForm,
    redirect_authenticated_user=True,
)
sign_out = LogoutView.as_view()

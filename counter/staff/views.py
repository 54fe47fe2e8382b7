"""Signing in, switching person on a shared device, and the door each role enters by."""

from __future__ import annotations

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_GET, require_http_methods

from counter.roles import COUNTER, OWNER, roles_of
from counter.staff.forms import PinForm
from counter.staff.queries import colleagues
from counter.staff.services import pins
from counter.staff.wording import now_signed_in
from tickets.errors import Refused


@require_GET
def home(request: HttpRequest) -> HttpResponse:
    roles = roles_of(request.user)
    if OWNER in roles:
        return redirect("owner_day")
    if COUNTER in roles:
        return redirect("desk")
    return redirect("tickets:boards")


@require_GET
def switch(request: HttpRequest) -> HttpResponse:
    return render(
        request,
        "counter/staff/switch.html",
        {"people": colleagues(), "next": request.GET.get("next", "")},
    )


@require_http_methods(["GET", "POST"])
def switch_pin(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask for one person's PIN on a device where somebody is signed in already."""
    person = next((user for user in colleagues() if user.pk == pk), None)
    if person is None:
        return redirect("switch")
    form = PinForm(request.POST or None)
    target = request.POST.get("next") or request.GET.get("next", "")
    if request.method == "POST" and form.is_valid():
        try:
            pins.check(person, form.cleaned_data["pin"])
        except Refused as refusal:
            form.add_error("pin", str(refusal))
        else:
            login(request, person, backend=settings.AUTHENTICATION_BACKENDS[-1])
            messages.success(request, now_signed_in(person))
            if not url_has_allowed_host_and_scheme(target, {request.get_host()}):
                target = reverse("home")
            return redirect(target)
    return render(
        request, "counter/staff/switch_pin.html", {"form": form, "person": person, "next": target}
    )


urlpatterns = [
    path("", home, name="home"),
    path(
        "login/",
        LoginView.as_view(
            template_name="counter/staff/login.html", redirect_authenticated_user=True
        ),
        name="login",
    ),
    path("logout/", LogoutView.as_view(), name="logout"),
    path("switch/", switch, name="switch"),
    path("switch/<int:pk>/", switch_pin, name="switch_pin"),
]

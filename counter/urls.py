"""All addresses of the shop. Each page module lists its own; roles.py says who may open them."""

from django.contrib import admin
from django.urls import include, path

from counter.views import (
    care,
    closed_days,
    crews,
    home,
    intake,
    machines,
    owner,
    partners,
    pickup,
    plan,
    shop,
    weights,
)

handler400 = "counter.views.trouble.bad_request"
handler404 = "counter.views.trouble.not_found"
handler500 = "counter.views.trouble.server_error"

urlpatterns = [
    *home.urlpatterns,
    *intake.urlpatterns,
    *care.urlpatterns,
    *pickup.urlpatterns,
    *owner.urlpatterns,
    *plan.urlpatterns,
    *shop.urlpatterns,
    *machines.urlpatterns,
    *partners.urlpatterns,
    *closed_days.urlpatterns,
    *weights.urlpatterns,
    *crews.urlpatterns,
    path("", include("tickets.urls")),
    path("api/v1/", include("counter.api_urls")),
    path("admin/", admin.site.urls),
]

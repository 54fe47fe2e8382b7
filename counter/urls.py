"""All addresses of the shop. Each page module lists its own; roles.py says who may open them."""

from django.contrib import admin
from django.urls import include, path

from counter.views import (
    care,
    closed_days,
    home,
    intake,
    machines,
    owner,
    partners,
    pickup,
    plan,
    shop,
)

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
    path("", include("tickets.urls")),
    path("api/v1/", include("counter.api_urls")),
    path("admin/", admin.site.urls),
]

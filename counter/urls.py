"""All addresses of the shop. Each page module lists its own; roles.py says who may open them."""

from django.contrib import admin
from django.urls import include, path

from counter.views import care, home, intake, machines, owner, pickup, shop

urlpatterns = [
    *home.urlpatterns,
    *intake.urlpatterns,
    *care.urlpatterns,
    *pickup.urlpatterns,
    *owner.urlpatterns,
    *shop.urlpatterns,
    *machines.urlpatterns,
    path("", include("tickets.urls")),
    path("api/v1/", include("counter.api_urls")),
    path("admin/", admin.site.urls),
]

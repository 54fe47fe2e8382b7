"""All addresses of the shop. Each page module lists its own; roles.py says who may open them."""

from django.conf import settings
from django.contrib import admin
from django.urls import include, path

from counter.care import views
from counter.intake import care_views
from counter.intake import views as intake
from counter.money import views as money
from counter.owner import views as owner
from counter.papers import views as papers
from counter.pickup import views as pickup
from counter.shop import holiday_views, table_views
from counter.shop import views as shop
from counter.staff import views as home
from tickets.plan import views as plan

handler400 = "counter.site.trouble.bad_request"
handler404 = "counter.site.trouble.not_found"
handler500 = "counter.site.trouble.server_error"

urlpatterns = [
    *home.urlpatterns,
    *intake.urlpatterns,
    *care_views.urlpatterns,
    *views.urlpatterns,
    *pickup.urlpatterns,
    *money.urlpatterns,
    *papers.urlpatterns,
    *owner.urlpatterns,
    *plan.urlpatterns,
    *shop.urlpatterns,
    *holiday_views.urlpatterns,
    *table_views.urlpatterns,
    path("", include("tickets.urls")),
    path("api/v1/", include("counter.api_urls")),
]

if settings.ADMIN:  # the framework's own pages: for repairs, not for the counter
    urlpatterns.append(path("admin/", admin.site.urls))

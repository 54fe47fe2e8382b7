"""Addresses of tickets, pieces and boards."""

from tickets.views import boards, pieces

app_name = "tickets"
urlpatterns = [*boards.urlpatterns, *pieces.urlpatterns]

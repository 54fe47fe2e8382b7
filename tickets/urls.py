"""Addresses of tickets, pieces, boards and loads."""

from tickets.views import boards, loads, pieces

app_name = "tickets"
urlpatterns = [*boards.urlpatterns, *loads.urlpatterns, *pieces.urlpatterns]

"""Addresses of tickets, pieces, boards and loads."""

from tickets.boards import views
from tickets.loads import views as loads
from tickets.pieces import views as pieces

app_name = "tickets"
urlpatterns = [*views.urlpatterns, *loads.urlpatterns, *pieces.urlpatterns]

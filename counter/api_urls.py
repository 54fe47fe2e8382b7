"""Addresses of the API, one version under /api/v1/."""

from django.urls import path, re_path

from counter.customers import api as api_customers
from counter.intake import api as api_tickets
from counter.money import api as api_money
from counter.pickup import api as api_pickup
from counter.staff import api as api_access
from tickets.api import decide
from tickets.boards import api as api_boards
from tickets.loads import api as api_loads
from tickets.pieces import api as api_pieces

app_name = "api"
urlpatterns = [
    path("schema/", api_access.Schema.as_view(), name="schema"),
    path("token/", api_access.TokenView.as_view(), name="token"),
    path("customers/", api_customers.CustomerList.as_view(), name="customer-list"),
    path("customers/<int:pk>/", api_customers.CustomerDetail.as_view(), name="customer-detail"),
    path("tickets/", api_tickets.TicketList.as_view(), name="ticket-list"),
    path("tickets/<int:number>/", api_tickets.TicketDetail.as_view(), name="ticket-detail"),
    path(
        "tickets/<int:number>/complete/",
        api_pieces.TicketComplete.as_view(),
        name="ticket-complete",
    ),
    path("tickets/<int:number>/payments/", api_money.TicketPayments.as_view(), name="payment"),
    path("pickups/<int:number>/", api_pickup.TicketPickup.as_view(), name="pickup"),
    path("pieces/", api_pieces.PieceList.as_view(), name="piece-list"),
    path("pieces/<str:code>/", api_pieces.PieceDetail.as_view(), name="piece-detail"),
    path("pieces/<str:code>/hold/", api_pieces.PieceHold.as_view(), name="piece-hold"),
    path("pieces/<str:code>/release/", api_pieces.PieceRelease.as_view(), name="piece-release"),
    path("pieces/<str:code>/redo/", api_pieces.PieceRedo.as_view(), name="piece-redo"),
    path("pieces/<str:code>/return/", api_pieces.PieceReturn.as_view(), name="piece-return"),
    path("scan/", api_boards.Scan.as_view(), name="scan"),
    path("boards/", api_boards.BoardList.as_view(), name="board-list"),
    path("boards/<str:station>/", api_boards.BoardDetail.as_view(), name="board-detail"),
    path("boards/<str:station>/loads/", api_loads.LoadFloor.as_view(), name="board-loads"),
    path("loads/", api_loads.LoadList.as_view(), name="load-list"),
    path("loads/<int:load>/", api_loads.LoadDetail.as_view(), name="load-detail"),
    path("loads/<int:load>/in/", api_loads.LoadIn.as_view(), name="load-in"),
    path("loads/<int:load>/off/", api_loads.LoadOff.as_view(), name="load-off"),
    path("loads/<int:load>/out/", api_loads.LoadOut.as_view(), name="load-out"),
    path("loads/<int:load>/never-in/", api_loads.LoadNeverIn.as_view(), name="load-never-in"),
    path("loads/<int:load>/close/", api_loads.LoadClose.as_view(), name="load-close"),
    path("loads/<int:load>/start/", api_loads.LoadStart.as_view(), name="load-start"),
    path("loads/<int:load>/finish/", api_loads.LoadFinish.as_view(), name="load-finish"),
    path("loads/<int:load>/undo/", api_loads.LoadUndo.as_view(), name="load-undo"),
    path("decide/", decide.Decide.as_view(), name="decide"),
    re_path("", api_access.Unknown.as_view(), name="unknown"),
]

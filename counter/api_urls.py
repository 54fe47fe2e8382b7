"""Addresses of the API, one version under /api/v1/."""

from django.urls import path

from counter import api, api_access
from tickets import api as back

app_name = "api"
urlpatterns = [
    path("schema/", api_access.Schema.as_view(), name="schema"),
    path("token/", api_access.TokenView.as_view(), name="token"),
    path("customers/", api.CustomerList.as_view(), name="customer-list"),
    path("customers/<int:pk>/", api.CustomerDetail.as_view(), name="customer-detail"),
    path("tickets/", api.TicketList.as_view(), name="ticket-list"),
    path("tickets/<int:number>/", api.TicketDetail.as_view(), name="ticket-detail"),
    path("tickets/<int:number>/payments/", api.TicketPayments.as_view(), name="payment"),
    path("pickups/<int:number>/", api.TicketPickup.as_view(), name="pickup"),
    path("pieces/", back.PieceList.as_view(), name="piece-list"),
    path("pieces/<str:code>/", back.PieceDetail.as_view(), name="piece-detail"),
    path("pieces/<str:code>/hold/", back.PieceHold.as_view(), name="piece-hold"),
    path("pieces/<str:code>/release/", back.PieceRelease.as_view(), name="piece-release"),
    path("pieces/<str:code>/redo/", back.PieceRedo.as_view(), name="piece-redo"),
    path("scan/", back.Scan.as_view(), name="scan"),
    path("boards/", back.BoardList.as_view(), name="board-list"),
    path("boards/<str:station>/", back.BoardDetail.as_view(), name="board-detail"),
    path("decide/", back.Decide.as_view(), name="decide"),
    path("<path:rest>", api_access.Unknown.as_view(), name="unknown"),
]

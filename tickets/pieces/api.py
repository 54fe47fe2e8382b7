"""The API of pieces, and of tickets on the assembly table.

Each operation calls the same function as the page for it. Who may call it stands in the project's
role table; how errors look is the project's exception handler.
"""

from __future__ import annotations

from django.utils import timezone
from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework import generics
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from tickets.acting import Act
from tickets.api.addresses import CODE, NUMBER, piece_code_of
from tickets.api.filters import StrictFilters
from tickets.api.once import OnceView, Validated, key_used, once
from tickets.api.shapes import (
    FINDING,
    CompletedSerializer,
    CompleteRequestSerializer,
    HoldRequestSerializer,
    MovedSerializer,
    PieceDetailSerializer,
    PieceSerializer,
    RedoRequestSerializer,
    ReleaseRequestSerializer,
    ReturnRequestSerializer,
)
from tickets.choices import MoveKind, Station
from tickets.models import Piece
from tickets.pieces import queries
from tickets.pieces.filters import PieceFilters
from tickets.tracking import services as tracking
from tickets.tracking.services import Moved

# Pieces


class PieceList(generics.ListAPIView[Piece]):
    serializer_class = PieceSerializer
    queryset = queries.listed_pieces()
    filter_backends = [StrictFilters]
    filterset_class = PieceFilters

    def get_serializer_context(self) -> dict[str, object]:
        return {**super().get_serializer_context(), "now": timezone.now()}

    @extend_schema(
        operation_id="pieces_list",
        responses={200: PieceSerializer(many=True), **FINDING},
    )
    def get(self, request: Request, *args: object, **kwargs: object) -> Response:
        """Pieces, the earliest promise first."""
        return super().get(request, *args, **kwargs)


class PieceDetail(APIView):
    @extend_schema(
        operation_id="pieces_read",
        parameters=[CODE],
        responses={200: PieceDetailSerializer, **FINDING},
    )
    def get(self, request: Request, code: str) -> Response:
        """One piece with its decision, route, moves, holds and accepted cautions."""
        piece = queries.piece_in_detail(piece_code_of(code))
        return Response(PieceDetailSerializer(piece).data)


class PieceMove(OnceView):
    """A move of one piece by name. A subclass says which one, and makes it in ``move``."""

    kind: MoveKind

    def move(self, code: str, data: Validated, act: Act) -> Moved:
        raise NotImplementedError

    def done(self, data: Validated, act: Act, code: str) -> Response:
        digits = piece_code_of(code)
        moved = self.move(digits, data, act)
        if moved.repeated and (moved.piece.code, moved.move.kind) != (digits, self.kind):
            raise key_used(f"{moved.piece.spoken}, {moved.move.get_kind_display()}")
        return Response(MovedSerializer(moved).data, status=200 if moved.repeated else 201)


@once("pieces_hold", HoldRequestSerializer, MovedSerializer, CODE)
class PieceHold(PieceMove):
    """Stop a piece, with a reason, a person who asks and the day to ask again."""

    kind = MoveKind.HELD

    def move(self, code: str, data: Validated, act: Act) -> Moved:
        owner = data.get("owner") or act.by
        return tracking.hold(code, data["reason"], owner, data["ask_again_on"], act)


@once("pieces_release", ReleaseRequestSerializer, MovedSerializer, CODE)
class PieceRelease(PieceMove):
    """End a hold with what came of it."""

    kind = MoveKind.RELEASED

    def move(self, code: str, data: Validated, act: Act) -> Moved:
        return tracking.release(code, data["outcome"], act)


@once("pieces_redo", RedoRequestSerializer, MovedSerializer, CODE)
class PieceRedo(PieceMove):
    """Send a piece back to a named station of its route, with a reason."""

    kind = MoveKind.REDO

    def move(self, code: str, data: Validated, act: Act) -> Moved:
        return tracking.send_back(code, Station(data["station"]), data["reason"], act)


@once("pieces_return", ReturnRequestSerializer, MovedSerializer, CODE)
class PieceReturn(PieceMove):
    """Give a piece back to its customer undone, with a reason. It is charged no more."""

    kind = MoveKind.RETURNED

    def move(self, code: str, data: Validated, act: Act) -> Moved:
        return tracking.return_undone(code, data["reason"], act)


# The assembly table


@once("tickets_complete", CompleteRequestSerializer, CompletedSerializer, NUMBER)
class TicketComplete(OnceView):
    """Send the matched pieces of a ticket to the rack: all, or with a reason a part of them."""

    def done(self, data: Validated, act: Act, number: int) -> Response:
        moved = tracking.complete_ticket(number, act, data["part_reason"])
        ticket = moved[0].piece.ticket
        if ticket.number != number:
            raise key_used(_("ticket %(ticket)s is complete.") % {"ticket": ticket.number})
        moves = queries.moves_by_position([result.move.pk for result in moved])
        repeated = moved[0].repeated
        shown = {"ticket": number, "moved": moves, "repeated": repeated}
        return Response(CompletedSerializer(shown).data, status=200 if repeated else 201)

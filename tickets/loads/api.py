"""The API of loads: which to make, what is in one, and each of its steps.

Every step goes through the one door of loads, as the pages do. A load runs in a machine, or goes
out to a partner in a bag.
"""

from __future__ import annotations

from collections.abc import Callable

from django.db.models import QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework import generics
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from care_rules import JsonObject
from tickets.acting import Act
from tickets.api.addresses import piece_code_of, station_in
from tickets.api.filters import StrictFilters
from tickets.api.once import (
    KNOWN,
    ONE_TIME_KEY,
    OnceView,
    Validated,
    checked,
    key_used,
    keyed_act,
    once,
)
from tickets.api.shapes import FINDING, WRITING, OnceSerializer
from tickets.choices import Station
from tickets.errors import Kind, Refused
from tickets.loads import proposals, queries
from tickets.loads import services as loadbook
from tickets.loads.filters import LoadFilters
from tickets.loads.planned_pieces import load_piece
from tickets.loads.services import Booked
from tickets.loads.shapes import (
    BookedSerializer,
    FloorSerializer,
    LoadAddRequestSerializer,
    LoadDetailSerializer,
    LoadPieceRequestSerializer,
    LoadSerializer,
    NewLoadSerializer,
)
from tickets.loads.together import steps_together
from tickets.loads.wording.answers import key_stands_for
from tickets.models import Load, Piece
from tickets.models.machines import LoadEventKind, LoadState
from tickets.numbers import NumberError
from tickets.shop import partners
from tickets.shop.machines import LOAD_STATIONS
from tickets.tracking.queries import find_piece

LOAD = OpenApiParameter("load", OpenApiTypes.INT, OpenApiParameter.PATH)


class LoadList(generics.ListAPIView[Load]):
    serializer_class = LoadSerializer
    filter_backends = [StrictFilters]
    filterset_class = LoadFilters

    def get_queryset(self) -> QuerySet[Load]:
        return queries.listed_loads()

    @extend_schema(
        operation_id="loads_list",
        responses={200: LoadSerializer(many=True), **FINDING},
    )
    def get(self, request: Request, *args: object, **kwargs: object) -> Response:
        """Loads, the newest first."""
        return super().get(request, *args, **kwargs)

    @extend_schema(
        operation_id="loads_open",
        parameters=[ONE_TIME_KEY],
        request=NewLoadSerializer,
        responses={201: BookedSerializer, 200: OpenApiResponse(BookedSerializer, KNOWN), **WRITING},
    )
    def post(self, request: Request) -> Response:
        """Open a load for a machine, or a bag for a partner, with the pieces named or empty."""
        data = checked(NewLoadSerializer, request.data)
        act, codes = keyed_act(request, data), _codes_of(data["codes"])
        _key_is_free(act)
        if "machine" in data:
            done = loadbook.open_load(data["machine"], codes, act)
            same = done.load.machine_id == data["machine"]
        else:
            done = loadbook.open_bag(data["partner"], codes, act)
            same = done.load.partner_id == data["partner"]
        if done.repeated and not (same and done.event.kind == LoadEventKind.OPENED):
            raise _stands_for(done)
        return _booked(done)


class LoadDetail(APIView):
    @extend_schema(
        operation_id="loads_read",
        parameters=[LOAD],
        responses={200: LoadDetailSerializer, **FINDING},
    )
    def get(self, request: Request, load: int) -> Response:
        """One load with its pieces, what to do with them, and all that was done to it."""
        shown = LoadDetailSerializer(_shown(load))  # type: ignore[arg-type]  # a dict of its names
        return Response(shown.data)


class LoadFloor(APIView):
    @extend_schema(
        operation_id="boards_loads",
        parameters=[OpenApiParameter("station", str, OpenApiParameter.PATH)],
        responses={200: FloorSerializer, **FINDING},
    )
    def get(self, request: Request, station: str) -> Response:
        """Which loads to make at a station now and next, with reasons, and what goes into none."""
        here, now = station_in(station, LOAD_STATIONS), timezone.now()
        return Response(FloorSerializer(proposals.floor(here, now), context={"now": now}).data)


class LoadStep(OnceView):
    """One step of a whole load. A subclass says which."""

    kind: LoadEventKind
    step: Callable[[int, Act], Booked]

    def done(self, data: Validated, act: Act, load: int) -> Response:
        _key_is_free(act)
        done = self.step(load, act)
        if done.repeated and (done.load.pk, done.event.kind) != (load, self.kind):
            raise _stands_for(done)
        return _booked(done)


@once("loads_close", OnceSerializer, BookedSerializer, LOAD)
class LoadClose(LoadStep):
    """Nothing goes in any more: programme and count stand."""

    kind, step = LoadEventKind.CLOSED, staticmethod(loadbook.close)


@once("loads_start", OnceSerializer, BookedSerializer, LOAD)
class LoadStart(LoadStep):
    """The run begins. Refused while the machine holds another load."""

    kind, step = LoadEventKind.STARTED, staticmethod(loadbook.start)


@once("loads_finish", OnceSerializer, BookedSerializer, LOAD)
class LoadFinish(LoadStep):
    """The run is over. Each piece counted in must now be counted out."""

    kind, step = LoadEventKind.FINISHED, staticmethod(loadbook.finish)


@once("loads_undo", OnceSerializer, BookedSerializer, LOAD)
class LoadUndo(LoadStep):
    """Take the last step back. A load that is being filled is undone altogether."""

    kind, step = LoadEventKind.UNDONE, staticmethod(loadbook.undo)


class PieceAtLoad(OnceView):
    """One piece at a load. A subclass says what happens to it."""

    kind: LoadEventKind

    def scan(self, load: int, code: str, data: Validated, act: Act) -> Booked:
        raise NotImplementedError

    def done(self, data: Validated, act: Act, load: int) -> Response:
        _key_is_free(act)
        piece = find_piece(piece_code_of(data["code"]))
        done = self.scan(load, piece.code, data, act)
        asked = (load, self.kind, piece.pk)
        if done.repeated and (done.load.pk, done.event.kind, done.event.piece_id) != asked:
            raise _stands_for(done)
        return _booked(done)


@once("loads_count_in", LoadAddRequestSerializer, BookedSerializer, LOAD)
class LoadIn(PieceAtLoad):
    """Count a piece in. One that would change the load's programme needs that programme's key."""

    kind = LoadEventKind.ADDED

    def scan(self, load: int, code: str, data: Validated, act: Act) -> Booked:
        return loadbook.add(load, code, act, data["programme"])


@once("loads_take_off", LoadPieceRequestSerializer, BookedSerializer, LOAD)
class LoadOff(PieceAtLoad):
    """Take a piece off a load that is being filled; it waits as before."""

    kind = LoadEventKind.TAKEN_OFF

    def scan(self, load: int, code: str, data: Validated, act: Act) -> Booked:
        return loadbook.take_off(load, code, act)


@once("loads_count_out", LoadPieceRequestSerializer, BookedSerializer, LOAD)
class LoadOut(PieceAtLoad):
    """Count a piece out after the run: its work here is done. The last one frees the machine."""

    kind = LoadEventKind.COUNTED_OUT

    def scan(self, load: int, code: str, data: Validated, act: Act) -> Booked:
        return loadbook.count_out(load, code, act)


@once("loads_never_in", LoadPieceRequestSerializer, BookedSerializer, LOAD)
class LoadNeverIn(PieceAtLoad):
    """A piece counted in was not there after the run: it still waits, and is to be found."""

    kind = LoadEventKind.NEVER_IN

    def scan(self, load: int, code: str, data: Validated, act: Act) -> Booked:
        return loadbook.never_in(load, code, act)


def _codes_of(given: list[str]) -> list[str]:
    """Digits of the pieces to count in, or one error with every one that can't be read."""
    codes: list[str] = []
    faults: dict[int, list[str]] = {}
    for index, text in enumerate(given):
        try:
            codes.append(piece_code_of(text))
        except (NumberError, Refused) as no:
            faults[index] = [str(no)]
    if faults:
        detail: JsonObject = {"codes": faults}
        raise ValidationError(detail)
    return codes


def _shown(pk: int) -> JsonObject:
    load = queries.listed_load(pk)
    if load is None:
        raise Refused(
            "unknown_load",
            _("There is no load %(load)d.") % {"load": pk},
            _("Choose one of those that loads/ lists."),
            kind=Kind.NOT_FOUND,
        )
    pieces = queries.inside(load)
    return {
        **{name: getattr(load, name) for name in LoadSerializer.Meta.fields},
        "pieces": pieces,
        "left": queries.left_rows(load),
        "steps": _steps(load, pieces),
        "events": queries.events_of(load),
    }


def _steps(load: Load, pieces: list[Piece]) -> list[str]:
    """What to do so that the pieces do each other no harm, while they can still be changed."""
    if load.state not in (LoadState.FILLING, LoadState.CLOSED):
        return []
    if load.is_bag:
        return partners.notes(pieces)
    station = Station(load.station)
    try:
        return steps_together([load_piece(piece, station) for piece in pieces])
    except Refused as no:  # a decision made again parted what was put together
        return [str(no)]


def _booked(done: Booked) -> Response:
    event = queries.event_in_full(done.event)
    shown = {"load": _shown(done.load.pk), "event": event, "repeated": done.repeated}
    return Response(BookedSerializer(shown).data, status=200 if done.repeated else 201)


def _key_is_free(act: Act) -> None:
    """Counting out also moves the piece with this key, so a move may not stand under it yet."""
    if move := queries.only_move_under(act.client_key):
        raise key_used(f"{move.piece.spoken}, {move.get_kind_display()}")


def _stands_for(done: Booked) -> Refused:
    return key_used(key_stands_for(done.load, done.event))

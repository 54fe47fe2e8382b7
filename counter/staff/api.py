"""The way into the API: a token for a password, the OpenAPI document, and unknown addresses."""

from __future__ import annotations

from typing import Any

from django.contrib.auth import authenticate
from django.utils.translation import gettext as _
from drf_spectacular.renderers import OpenApiJsonRenderer2, OpenApiYamlRenderer2
from drf_spectacular.utils import extend_schema
from drf_spectacular.views import SpectacularAPIView
from rest_framework import serializers
from rest_framework.exceptions import AuthenticationFailed, NotFound, Throttled
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.throttling import AnonRateThrottle
from rest_framework.views import APIView

from counter.staff.permissions import RolePermission
from counter.staff.services import token_of
from tickets.api.shapes import StrictSerializer, errors


class CredentialsSerializer(StrictSerializer):
    username = serializers.CharField(max_length=150)
    password = serializers.CharField(max_length=128, trim_whitespace=False)


class TokenSerializer(serializers.Serializer[object]):
    token = serializers.CharField()


class Schema(SpectacularAPIView):
    """The OpenAPI document itself, as JSON unless YAML is asked for."""

    permission_classes = [RolePermission]
    renderer_classes = [OpenApiJsonRenderer2, OpenApiYamlRenderer2]


class Unknown(APIView):
    """Any other address: the same shape of error as everywhere."""

    schema = None

    def initial(self, request: Request, *args: object, **kwargs: object) -> None:
        raise NotFound


class GuessThrottle(AnonRateThrottle):
    """One address may try so many names; how often one name may be tried, axes counts."""

    rate = "30/min"


class TokenView(APIView):
    authentication_classes: list[type[Any]] = []
    throttle_classes = [GuessThrottle]

    @extend_schema(
        operation_id="token",
        auth=[],
        request=CredentialsSerializer,
        responses={200: TokenSerializer, **errors(400, 413, 415, 429)},
    )
    def post(self, request: Request) -> Response:
        """The token of a member of staff, for the header ``Authorization: Token …``."""
        sent = CredentialsSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        plain = request._request
        user = authenticate(request=plain, **sent.validated_data)
        if user is None:
            if getattr(plain, "axes_locked_out", False):
                plain.axes_locked_out = False  # type: ignore[attr-defined]  # else a page replaces this
                raise Throttled(detail=_("Too many wrong passwords for this name."))
            raise AuthenticationFailed(_("The name or the password is not right."))
        return Response({"token": token_of(user)})

    def get_authenticate_header(self, request: Request) -> str:
        return "Token"

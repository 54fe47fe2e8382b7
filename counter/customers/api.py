"""The API of customers. Each operation calls the same function as the page for it."""

from __future__ import annotations

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework import generics, serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from counter.customers import queries, services
from counter.customers.filters import CustomerFilters
from counter.models import Shop
from tickets.api.filters import StrictFilters
from tickets.api.once import Validated, checked
from tickets.api.shapes import FINDING, WRITING, StrictSerializer
from tickets.garments.customers import WRITTEN_FIELDS, checked_customer
from tickets.models import Customer

_ID = OpenApiParameter("id", OpenApiTypes.INT, OpenApiParameter.PATH)


class CustomerSerializer(StrictSerializer, serializers.ModelSerializer[Customer]):
    """A person who brings pieces. The phone may come as spoken; it is kept in +44… form."""

    phone = serializers.CharField(max_length=40, required=False, default="", allow_blank=True)

    class Meta:
        model = Customer
        fields = ["id", *WRITTEN_FIELDS]


class CustomerList(generics.ListAPIView[Customer]):
    serializer_class = CustomerSerializer
    queryset = queries.listed_customers()
    filter_backends = [StrictFilters]
    filterset_class = CustomerFilters

    @extend_schema(
        operation_id="customers_list",
        responses={200: CustomerSerializer(many=True), **FINDING},
    )
    def get(self, request: Request, *args: object, **kwargs: object) -> Response:
        """Customers by name."""
        return super().get(request, *args, **kwargs)

    @extend_schema(
        operation_id="customers_create",
        request=CustomerSerializer,
        responses={
            201: CustomerSerializer,
            200: OpenApiResponse(CustomerSerializer, "The very same customer was known."),
            **WRITING,
        },
    )
    def post(self, request: Request) -> Response:
        """A new customer; one that is the same in every field is returned, not doubled."""
        data = checked(CustomerSerializer, request.data)
        customer, added = services.add_once(checked_new(data, Shop.current().country))
        return Response(CustomerSerializer(customer).data, status=201 if added else 200)


class CustomerDetail(APIView):
    @extend_schema(
        operation_id="customers_read",
        parameters=[_ID],
        responses={200: CustomerSerializer, **FINDING},
    )
    def get(self, request: Request, pk: int) -> Response:
        """One customer."""
        return Response(CustomerSerializer(queries.find_customer(pk)).data)

    @extend_schema(
        operation_id="customers_change",
        parameters=[_ID],
        request=CustomerSerializer(partial=True),
        responses={200: CustomerSerializer, **WRITING},
    )
    def patch(self, request: Request, pk: int) -> Response:
        """Change the fields that are sent; the others stay. Sent twice, it changes nothing more."""
        known = queries.find_customer(pk)
        sent = CustomerSerializer(known, data=request.data, partial=True)
        sent.is_valid(raise_exception=True)
        customer = services.change_customer(pk, sent.validated_data, Shop.current().country)
        return Response(CustomerSerializer(customer).data)


def checked_new(data: Validated, region: str) -> Customer:
    """A new customer from the fields of the shape, not written yet; ``Refused`` for a phone or a
    name that can't be. ``region`` is the shop's country."""
    fields = {key: value for key, value in data.items() if key != "phone"}
    return checked_customer(Customer(**fields), phone=data["phone"], region=region)

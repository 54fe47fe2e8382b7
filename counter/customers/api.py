"""The API of customers. Each operation calls the same function as the page for it."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.db.models import QuerySet
from django.utils.translation import gettext as _
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework import generics
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from counter.intake.shapes import CustomerFilterSerializer, CustomerSerializer
from counter.models import Shop
from tickets.api.once import checked
from tickets.api.shapes import FINDING, WRITING
from tickets.errors import Kind, Refused
from tickets.garments.customers import WRITTEN_FIELDS, find_customers, save_customer
from tickets.models import Customer
from tickets.writing import atomic_write

_ID = OpenApiParameter("id", OpenApiTypes.INT, OpenApiParameter.PATH)


class CustomerList(generics.ListAPIView[Customer]):
    serializer_class = CustomerSerializer

    def get_queryset(self) -> QuerySet[Customer]:
        asked = checked(CustomerFilterSerializer, self.request.query_params)
        if "search" in asked:
            return find_customers(asked["search"], limit=None)
        return Customer.objects.order_by("name", "pk")

    @extend_schema(
        operation_id="customers_list",
        parameters=[CustomerFilterSerializer],
        responses={200: CustomerSerializer(many=True), **FINDING},
    )
    def get(self, request: Request, *args: Any, **kwargs: Any) -> Response:
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
        with atomic_write():
            customer = save_new(data)
            twins = Customer.objects.filter(
                **{field: getattr(customer, field) for field in WRITTEN_FIELDS}
            ).exclude(pk=customer.pk)
            twin = twins.order_by("pk").first()
            if twin is not None:
                transaction.set_rollback(True)
        shown = CustomerSerializer(twin or customer).data
        return Response(shown, status=200 if twin else 201)


class CustomerDetail(APIView):
    @extend_schema(
        operation_id="customers_read",
        parameters=[_ID],
        responses={200: CustomerSerializer, **FINDING},
    )
    def get(self, request: Request, pk: int) -> Response:
        """One customer."""
        return Response(CustomerSerializer(_customer(Customer.objects.all(), pk)).data)

    @extend_schema(
        operation_id="customers_change",
        parameters=[_ID],
        request=CustomerSerializer(partial=True),
        responses={200: CustomerSerializer, **WRITING},
    )
    def patch(self, request: Request, pk: int) -> Response:
        """Change the fields that are sent; the others stay. Sent twice, it changes nothing more."""
        with atomic_write():
            customer = _customer(Customer.objects.select_for_update(), pk)
            sent = CustomerSerializer(customer, data=request.data, partial=True)
            sent.is_valid(raise_exception=True)
            data = {"phone": customer.phone, **sent.validated_data}
            for name in WRITTEN_FIELDS:
                setattr(customer, name, data.get(name, getattr(customer, name)))
            save_customer(customer, phone=data["phone"], region=Shop.current().country)
        return Response(CustomerSerializer(customer).data)


def save_new(data: dict[str, Any]) -> Customer:
    """A new customer from checked fields; ``Refused`` for a phone or a name that can't be."""
    fields = {key: value for key, value in data.items() if key != "phone"}
    return save_customer(Customer(**fields), phone=data["phone"], region=Shop.current().country)


def _customer(people: QuerySet[Customer], pk: int) -> Customer:
    customer = people.filter(pk=pk).first()
    if customer is None:
        raise Refused(
            "unknown_customer",
            _("There is no customer %(id)s.") % {"id": pk},
            _("Search by phone or name in customers/."),
            kind=Kind.NOT_FOUND,
        )
    return customer

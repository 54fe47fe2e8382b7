"""What is owed on the tickets that are there, from their lines and payments."""

from collections import defaultdict
from decimal import Decimal

from django.db import migrations

BATCH = 1000


def fill(apps, schema_editor):
    ticket_model = apps.get_model("tickets", "Ticket")
    line_model = apps.get_model("counter", "TicketLine")
    payment_model = apps.get_model("counter", "Payment")
    piece_model = apps.get_model("tickets", "Piece")
    last = 0
    while True:
        tickets = list(ticket_model.objects.filter(pk__gt=last).order_by("pk")[:BATCH])
        if not tickets:
            return
        last = tickets[-1].pk
        keys = [ticket.pk for ticket in tickets]
        pieces = piece_model.objects.filter(ticket__in=keys).exclude(state="returned")
        charged = set(pieces.values_list("ticket_id", flat=True))
        owed = defaultdict(Decimal)
        lines = line_model.objects.filter(ticket__in=keys)
        for key, piece, state, amount in lines.values_list(
            "ticket_id", "piece_id", "piece__state", "amount"
        ):
            if state != "returned" if piece else key in charged:
                owed[key] += amount
        payments = payment_model.objects.filter(ticket__in=keys)
        for key, kind, amount in payments.values_list("ticket_id", "kind", "amount"):
            owed[key] -= -amount if kind == "refund" else amount
        for ticket in tickets:
            ticket.owed_minor = int(owed[ticket.pk] * 100)
        ticket_model.objects.bulk_update(
            [ticket for ticket in tickets if ticket.owed_minor], ["owed_minor"]
        )


class Migration(migrations.Migration):
    dependencies = [
        ("counter", "0001_initial"),
        ("tickets", "0003_balances_kept"),
    ]

    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]

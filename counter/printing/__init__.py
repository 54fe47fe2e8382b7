"""Papers of the counter: the claim slip and the receipt, as PDF bytes."""

from counter.printing.receipt import (
    PaymentLine,
    ReceiptData,
    ReceiptPiece,
    WaitingPiece,
    build_receipt,
)
from counter.printing.slip import AcceptedCaution, SlipData, SlipPiece, build_claim_slip

__all__ = [
    "AcceptedCaution",
    "PaymentLine",
    "ReceiptData",
    "ReceiptPiece",
    "SlipData",
    "SlipPiece",
    "WaitingPiece",
    "build_claim_slip",
    "build_receipt",
]

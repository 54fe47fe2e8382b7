"""Everything the back room keeps. Foreign keys follow the imports: nothing here knows counter."""

from tickets.models.customers import Customer, CustomerWord
from tickets.models.lessons import LearnedMargin
from tickets.models.machines import (
    Load,
    LoadEvent,
    LoadPiece,
    Machine,
    MachineKind,
    Programme,
)
from tickets.models.moves import Acceptance, Hold, Move, PaperPrint
from tickets.models.partners import Partner, PartnerService
from tickets.models.revisions import Revision, Setting
from tickets.models.shop import ClosedDay, CrewDay, KindWeight, OpeningHours, RackPlace, StationCrew
from tickets.models.tickets import Piece, RouteStep, Ticket

__all__ = [
    "Acceptance",
    "ClosedDay",
    "CrewDay",
    "Customer",
    "CustomerWord",
    "Hold",
    "KindWeight",
    "LearnedMargin",
    "Load",
    "LoadEvent",
    "LoadPiece",
    "Machine",
    "MachineKind",
    "Move",
    "OpeningHours",
    "PaperPrint",
    "Partner",
    "PartnerService",
    "Piece",
    "Programme",
    "RackPlace",
    "Revision",
    "RouteStep",
    "Setting",
    "StationCrew",
    "Ticket",
]

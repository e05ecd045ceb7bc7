from .journal import Event
from .ranges import Drive, FeedMapRevision, Gearbox, ModelRange, ProcedureRevision
from .vehicle import Combination, Reading, Vehicle

__all__ = [
    "Combination",
    "Drive",
    "Event",
    "FeedMapRevision",
    "Gearbox",
    "ModelRange",
    "ProcedureRevision",
    "Reading",
    "Vehicle",
]

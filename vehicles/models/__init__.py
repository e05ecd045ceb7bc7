from .journal import Event
from .limits import LimitVersion
from .ranges import Drive, FeedMapRevision, Gearbox, ModelRange, ProcedureRevision
from .readings import ReadingCorrection
from .vehicle import Combination, Reading, Vehicle

__all__ = [
    "Combination",
    "Drive",
    "Event",
    "FeedMapRevision",
    "Gearbox",
    "LimitVersion",
    "ModelRange",
    "ProcedureRevision",
    "Reading",
    "ReadingCorrection",
    "Vehicle",
]

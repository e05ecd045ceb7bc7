from .component import Component, ComponentKind, Fitting
from .proof import Check, Inspection, Reverification, Standing, Verification

__all__ = [
    "Check",
    "Component",
    "ComponentKind",
    "Fitting",
    "Inspection",
    "Reverification",
    "Standing",
    "Verification",
]

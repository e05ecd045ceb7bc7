from .component import Component, ComponentKind, Fitting
from .photo import Photo
from .proof import Check, Inspection, Reverification, Standing, Verification

__all__ = [
    "Check",
    "Component",
    "ComponentKind",
    "Fitting",
    "Inspection",
    "Photo",
    "Reverification",
    "Standing",
    "Verification",
]

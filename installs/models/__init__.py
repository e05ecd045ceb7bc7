from .component import Component, ComponentKind, Fitting
from .job import (
    Addendum,
    Arrival,
    Job,
    JobPerson,
    JobRecord,
    JobStep,
    JobTime,
    JobWork,
    StepAnswer,
)
from .photo import Photo
from .proof import Check, Inspection, Reverification, Standing, Verification
from .template import StepTemplate, StepTemplateRevision

__all__ = [
    "Addendum",
    "Arrival",
    "Check",
    "Component",
    "ComponentKind",
    "Fitting",
    "Inspection",
    "Job",
    "JobPerson",
    "JobRecord",
    "JobStep",
    "JobTime",
    "JobWork",
    "Photo",
    "Reverification",
    "Standing",
    "StepAnswer",
    "StepTemplate",
    "StepTemplateRevision",
    "Verification",
]

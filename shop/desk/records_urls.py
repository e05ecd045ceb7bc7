"""The addresses of the forms, for the whole desk to link to.

    customer_add                          vehicle_add (?customer=, ?kind=towed or motorhome)
    customer_change <customer>            vehicle_change <vehicle>
    consent_set <customer>                reading_add <vehicle>
    ownership_start <vehicle>             ownership_end <ownership>
    combination_start <vehicle>           combination_end <combination>
    range_add                             procedure_history <whose> <pk>
    procedure_revise <whose> <pk>         feed_map_revise <whose> <pk>
    component_add (?vehicle=, ?kind=)     component_change <component>
    fit <vehicle> (?component=)           fitting_change <fitting>
    fitting_move <fitting>                fitting_remove <fitting>
    prove <vehicle>                       inspect <vehicle> (?fitting=, ?check=)
    outside_work <vehicle>

`whose` is `range` or `vehicle`. Technicians may use fit, fitting_change, prove, inspect and
reading_add; everything else is for those who keep the records (desk and owner).
"""

from django.urls import path, register_converter
from django.urls.converters import StringConverter

from .views.records import (
    components,
    customers,
    feed_maps,
    fittings,
    pairs,
    procedures,
    proof,
    vehicles,
)


class Whose(StringConverter):
    """Whether a document belongs to a model range or to one vehicle."""

    regex = "range|vehicle"


register_converter(Whose, "whose")

urlpatterns = [
    path("customers/new/", customers.customer_add, name="customer_add"),
    path("customers/<int:pk>/change/", customers.customer_change, name="customer_change"),
    path("customers/<int:pk>/consent/", customers.consent_set, name="consent_set"),
    path("vehicles/new/", vehicles.vehicle_add, name="vehicle_add"),
    path("vehicles/<int:pk>/change/", vehicles.vehicle_change, name="vehicle_change"),
    path("vehicles/<int:pk>/reading/", vehicles.reading_add, name="reading_add"),
    path("readings/<int:pk>/correct/", vehicles.reading_correct, name="reading_correct"),
    path("vehicles/<int:pk>/owner/", pairs.ownership_start, name="ownership_start"),
    path("ownerships/<int:pk>/end/", pairs.ownership_end, name="ownership_end"),
    path("vehicles/<int:pk>/combination/", pairs.combination_start, name="combination_start"),
    path("combinations/<int:pk>/end/", pairs.combination_end, name="combination_end"),
    path("components/new/", components.component_add, name="component_add"),
    path("components/<int:pk>/change/", components.component_change, name="component_change"),
    path("vehicles/<int:pk>/fit/", fittings.fit, name="fit"),
    path("fittings/<int:pk>/change/", fittings.fitting_change, name="fitting_change"),
    path("fittings/<int:pk>/move/", fittings.fitting_move, name="fitting_move"),
    path("fittings/<int:pk>/remove/", fittings.fitting_remove, name="fitting_remove"),
    path("vehicles/<int:pk>/prove/", proof.prove, name="prove"),
    path("vehicles/<int:pk>/inspect/", proof.inspect, name="inspect"),
    path("vehicles/<int:pk>/outside-work/", proof.outside_work, name="outside_work"),
    path(
        "procedures/<whose:whose>/<int:pk>/",
        procedures.procedure_history,
        name="procedure_history",
    ),
    path(
        "procedures/<whose:whose>/<int:pk>/revise/",
        procedures.procedure_revise,
        name="procedure_revise",
    ),
    path(
        "feed-maps/<whose:whose>/<int:pk>/revise/",
        feed_maps.feed_map_revise,
        name="feed_map_revise",
    ),
    path("ranges/new/", vehicles.range_add, name="range_add"),
]

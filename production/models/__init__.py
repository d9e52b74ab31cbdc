"""What the workshop holds; DEVELOPERS.md says who writes what."""

from .amendments import Amendment
from .blinds import Blind, BlindQuerySet, Stage, StageQuerySet
from .choices import STATE_CHOICES, STATION_CHOICES
from .events import StationEvent
from .faults import FaultKind
from .held_days import HeldDay
from .mishaps import Mishap, MishapQuerySet
from .order_changes import ChangesCounted, OrderChange
from .planning import Absence, Crew
from .tablets import Tablet

__all__ = [
    "STATE_CHOICES",
    "STATION_CHOICES",
    "Absence",
    "Amendment",
    "Blind",
    "BlindQuerySet",
    "ChangesCounted",
    "Crew",
    "FaultKind",
    "HeldDay",
    "Mishap",
    "MishapQuerySet",
    "OrderChange",
    "Stage",
    "StageQuerySet",
    "StationEvent",
    "Tablet",
]

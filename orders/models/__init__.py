from .calendar import AddedDay, Closure, WorkingWeek
from .catalogue import Fabric, HardwareSystem, SystemRevision
from .orders import Customer, Order, OrderLine, PromiseLook
from .people import Person
from .promises import PromiseGiven

__all__ = [
    "AddedDay",
    "Closure",
    "Customer",
    "Fabric",
    "HardwareSystem",
    "Order",
    "OrderLine",
    "Person",
    "PromiseGiven",
    "PromiseLook",
    "SystemRevision",
    "WorkingWeek",
]

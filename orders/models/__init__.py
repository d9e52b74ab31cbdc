from .catalogue import Fabric, HardwareSystem, SystemRevision
from .orders import Customer, Order, OrderLine
from .people import Person

__all__ = ["Customer", "Fabric", "HardwareSystem", "Order", "OrderLine", "Person", "SystemRevision"]

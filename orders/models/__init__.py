from .catalogue import Fabric, HardwareSystem, SystemRevision
from .orders import Customer, Order, OrderLine, PromiseLook
from .people import Person

__all__ = ["Customer", "Fabric", "HardwareSystem", "Order", "OrderLine", "Person", "PromiseLook", "SystemRevision"]

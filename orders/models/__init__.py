from .api_keys import ApiKey, PostedOrder
from .audit import AuditEntry
from .calendar import AddedDay, Closure, WorkingWeek
from .catalogue import Fabric, HardwareSystem, SystemRevision
from .customers import Customer
from .endings import CustomerEnding, OrderEnding, RoomEnding
from .entry import SentForm, SlipAnswer
from .imports import CustomersColumns, CustomersFile
from .lines import OrderLine
from .orders import Order
from .people import Person, SecondStep, SpareCode
from .promises import PromiseGiven, PromiseLook
from .sent import IssuedPaper, Letter
from .sessions import Session, SignInTries
from .sought import RoomName
from .steps import OrderStep
from .work import Work, Worker, WorkResult

__all__ = [
    "AddedDay",
    "ApiKey",
    "AuditEntry",
    "Closure",
    "Customer",
    "CustomerEnding",
    "CustomersColumns",
    "CustomersFile",
    "Fabric",
    "HardwareSystem",
    "IssuedPaper",
    "Letter",
    "Order",
    "OrderEnding",
    "OrderLine",
    "OrderStep",
    "Person",
    "PostedOrder",
    "PromiseGiven",
    "PromiseLook",
    "RoomEnding",
    "RoomName",
    "SecondStep",
    "SentForm",
    "Session",
    "SignInTries",
    "SlipAnswer",
    "SpareCode",
    "SystemRevision",
    "Work",
    "WorkResult",
    "Worker",
    "WorkingWeek",
]

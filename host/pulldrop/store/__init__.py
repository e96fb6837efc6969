"""History on disk: parts, runs, measurements, raw data; append only."""

from pulldrop.store.crates import Entry
from pulldrop.store.errors import CrateRefused, NotKept, PartRefused, StoreError, StoreTrouble
from pulldrop.store.overview import History, Info, Point
from pulldrop.store.place import locate
from pulldrop.store.read import PartLine, RunLine
from pulldrop.store.rows import RunHeader
from pulldrop.store.store import Store
from pulldrop.store.verify import Verified
from pulldrop.store.write import OpenRun

__all__ = [
    "CrateRefused",
    "Entry",
    "History",
    "Info",
    "NotKept",
    "OpenRun",
    "PartLine",
    "PartRefused",
    "Point",
    "RunHeader",
    "RunLine",
    "Store",
    "StoreError",
    "StoreTrouble",
    "Verified",
    "locate",
]

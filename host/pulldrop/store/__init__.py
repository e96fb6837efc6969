"""History on disk: parts, runs, measurements, raw data; append only."""

from pulldrop.store.admin.verify import Verified
from pulldrop.store.database.place import locate
from pulldrop.store.errors import AT, CrateRefused, NoStore, NotKept, PartRefused, StoreError, StoreTrouble
from pulldrop.store.records.crates import Entry
from pulldrop.store.records.read import PartLine
from pulldrop.store.records.rows import RunHeader
from pulldrop.store.records.write import OpenRun
from pulldrop.store.store import Store
from pulldrop.store.views.overview import History, Info

__all__ = [
    "AT",
    "CrateRefused",
    "Entry",
    "History",
    "Info",
    "NoStore",
    "NotKept",
    "OpenRun",
    "PartLine",
    "PartRefused",
    "RunHeader",
    "Store",
    "StoreError",
    "StoreTrouble",
    "Verified",
    "locate",
]

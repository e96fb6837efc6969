"""History on disk: parts, runs, measurements, raw data; append only."""

from pulldrop.store.errors import NotKept, PartRefused, StoreError, StoreTrouble
from pulldrop.store.read import PartLine, RunLine
from pulldrop.store.store import Store
from pulldrop.store.write import OpenRun, RunHeader

__all__ = [
    "NotKept",
    "OpenRun",
    "PartLine",
    "PartRefused",
    "RunHeader",
    "RunLine",
    "Store",
    "StoreError",
    "StoreTrouble",
]

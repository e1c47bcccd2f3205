"""Where state is kept: one small class over the tables."""

from models.store.store import Store
from models.store.types import AmendmentError, InspectionRow, SignedError, StaleError, StoreError

__all__ = ["AmendmentError", "InspectionRow", "SignedError", "StaleError", "Store", "StoreError"]

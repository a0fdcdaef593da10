"""What is next with a counted item that does not reach."""

from __future__ import annotations

from .ways import Argument, Way

RESTOCK = Way("Restock", "rentals:stock_item", Argument.ITEM)

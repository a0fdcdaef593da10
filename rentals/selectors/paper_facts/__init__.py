"""From rows to the frozen facts that `rentals.paper` draws. Reads only; a module for each paper."""

"""The shopping list on paper: what to order of counted stock, by which day, and why."""

from collections.abc import Iterator
from decimal import Decimal

from rentals.counts import counted
from rentals.planning.money import money_text

from .facts import Printed, ShoppingFacts, ShoppingLineFacts
from .fonts import FontChooser
from .ink import Ink
from .ledger import LedgerColumn, LedgerHead, LedgerRow, draw_ledger
from .words import in_a_column, on_paper

TITLE = "Shopping list"
_COLUMNS = (
    LedgerColumn("Item", 0, 66),
    LedgerColumn("Here", 68, 13, "r"),
    LedgerColumn("Runs need", 82, 15, "r"),
    LedgerColumn("First by", 99, 20),
    LedgerColumn("Order by", 120, 20),
    LedgerColumn("Packs", 140, 11, "r"),
    LedgerColumn("Cost", 152, 22, "r"),
)


def shopping_list_paper(
    facts: ShoppingFacts, *, paper: str | None = None, fonts: FontChooser | None = None
) -> Printed:
    """The list as PDF. Raises ValueError for a currency that is none."""
    count = counted(len(facts.lines), "item", "items")
    ink = Ink.for_paper(facts.practice, TITLE, f"{count} to order", paper, fonts)
    head = LedgerHead(
        TITLE,
        f"{count} to order, as of {on_paper(facts.on, facts.practice.locale)}",
        [("For", [facts.practice.name])],
    )
    rows = [*(_row(facts, line) for line in facts.lines), *_total(facts)]
    draw_ledger(ink, facts.practice, head, columns=_COLUMNS, rows=rows, notes=_notes(facts))
    return ink.printed()


def _row(facts: ShoppingFacts, line: ShoppingLineFacts) -> LedgerRow:
    locale = facts.practice.locale
    cells = (
        line.name,
        str(line.here),
        str(line.needed),
        in_a_column(line.needed_by, locale) if line.needed_by else "",
        in_a_column(line.order_by, locale) if line.order_by else "",
        str(line.packs),
        "" if line.cost is None else _money(facts, line.cost),
    )
    return LedgerRow(cells, note=" ".join(_note(line)))


def _note(line: ShoppingLineFacts) -> Iterator[str]:
    """Whether its day is past or today, where it is bought, how large a pack is, and why."""
    if line.urgency:
        yield f"Order: {line.urgency}."
    if line.supplier:
        yield f"From {line.supplier}."
    if line.pack_size > 1:
        yield f"{line.pack_size} in a pack."
    yield line.why


def _total(facts: ShoppingFacts) -> Iterator[LedgerRow]:
    costs = [line.cost for line in facts.lines if line.cost is not None]
    if costs:
        total = _money(facts, sum(costs, Decimal(0)))
        yield LedgerRow(("Together", "", "", "", "", "", total), strong=True)


def _notes(facts: ShoppingFacts) -> list[str]:
    if not facts.lines:
        return ["Nothing is to be ordered."]
    if any(line.cost is None for line in facts.lines):
        return ["Where no cost stands, no price of a pack is on file."]
    return []


def _money(facts: ShoppingFacts, amount: Decimal) -> str:
    return money_text(amount, facts.practice.currency, facts.practice.locale)

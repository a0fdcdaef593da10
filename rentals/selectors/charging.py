"""What is proposed to be charged for a shortfall, from its price, age and condition."""

from __future__ import annotations

from datetime import date

from django.utils import timezone

from rentals.models import ContentsLine, PackingLine, Practice, Shortfall
from rentals.planning.settlement import is_undecided, proposed_for_charging
from rentals.planning.wear import ChargeProposal, WearRule, proposed_charge, whole_months

from .ledger import loan_currency


def charge_proposal(shortfall: Shortfall) -> ChargeProposal:
    """The amount with its rule in words; the owner decides."""
    packed = shortfall.packing_line
    return proposed_charge(
        packed.replacement_price,
        shortfall.quantity,
        _rule_of(packed),
        loan_currency(shortfall.loan),
        age_months=_age_of(shortfall),
        damaged_before=_damaged_before(shortfall),
    )


def is_to_charge(shortfall: Shortfall, today: date, practice: Practice) -> bool:
    """Whether a shortfall that nobody has decided on is proposed for charging: it was asked for as
    long as the practice says.
    """
    opened_on = timezone.localdate(shortfall.opened_at)
    waits = is_undecided(shortfall.state)
    return waits and proposed_for_charging(opened_on, practice.charge_after_days, today)


def _rule_of(packed: PackingLine) -> WearRule:
    """How the kit type lets such a part wear; the line may have gone since."""
    lines = ContentsLine.objects.filter(
        kit_type=packed.loan.kit.kit_type_id, part_kind=packed.part_kind
    )
    line = next(iter(sorted(lines, key=lambda line: line.name != packed.name)), None)
    return WearRule(line.life_months, line.residual_percent) if line else WearRule()


def _age_of(shortfall: Shortfall) -> int | None:
    part = shortfall.packing_line.part
    if part is None or part.bought_on is None:
        return None
    return whole_months(part.bought_on, timezone.localdate(shortfall.opened_at))


def _damaged_before(shortfall: Shortfall) -> bool:
    """Whether an earlier loan brought the same part back damaged."""
    part = shortfall.packing_line.part
    if part is None:
        return False
    earlier = Shortfall.objects.filter(packing_line__part=part, kind=Shortfall.Kind.DAMAGED)
    return earlier.filter(opened_at__lt=shortfall.opened_at).exclude(pk=shortfall.pk).exists()

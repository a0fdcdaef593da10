"""Kit types with what they have."""

import pytest

from rentals.actions.issue import retire
from rentals.selectors.kit_types import kit_types_listed, kits_in_use
from tests.factories import complete_kit

pytestmark = pytest.mark.django_db


def test_lines_are_counted_once_and_retired_kits_not_at_all():
    kit = complete_kit()
    retire(complete_kit(kit.kit_type), reason="worn out")
    [listed] = kit_types_listed()
    assert (listed.kit_count, listed.line_count) == (1, 8)
    assert kits_in_use(kit.kit_type) == 1

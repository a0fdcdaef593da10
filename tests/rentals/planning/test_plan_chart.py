"""The plan as a drawing: every bar is a link, and nothing from outside is markup."""

import re
from datetime import date
from xml.etree import ElementTree

import pytest

from rentals.planning.calendar import PlannedDay
from rentals.planning.day_rules import DayRules
from rentals.planning.kit_plan import Hold, Lending, kit_plan
from rentals.planning.plan_chart import LEFT, RIGHT, WIDTH, DrawnKit, RunBar, plan_chart
from rentals.planning.plan_window import PlanWindow

pytestmark = pytest.mark.any_database
WINDOW = PlanWindow(date(2027, 3, 1), 10)
TODAY = date(2027, 3, 10)


def drawn(who: str, posted: date, due: date, hold: Hold) -> DrawnKit:
    lending = Lending(who, "Spring", "/loans/1/", hold, PlannedDay(posted), PlannedDay(due))
    return DrawnKit(kit_plan("K0001A", [lending], DayRules(), TODAY), "K 0001 A", "/kits/K0001A/")


def bars(chart: str, kind: str) -> list[tuple[float, float]]:
    """Left and right end of the bars of a class."""
    found = re.findall(rf'class="{kind}" x="([\d.]+)" y="\d+" width="([\d.]+)"', chart)
    return [(float(x), float(x) + float(width)) for x, width in found]


def test_bars_lie_on_their_days_and_end_with_the_window() -> None:
    day = (WIDTH - LEFT - RIGHT) / 70
    kit = drawn("Ada", date(2027, 3, 8), date(2027, 3, 22), Hold.AGREED)
    chart = plan_chart(WINDOW, [], [kit], TODAY)
    ((start, end),) = bars(chart, "plan-agreed")
    assert (start, end) == pytest.approx((LEFT + 7 * day, LEFT + 21 * day), abs=0.2)
    ((turn, free),) = bars(chart, "plan-turn")
    assert (turn, free) == pytest.approx((end, end + 3 * day), abs=0.2)
    long = drawn("Ada", date(2026, 1, 1), date(2029, 1, 1), Hold.AGREED)
    ((start, end),) = bars(plan_chart(WINDOW, [], [long], TODAY), "plan-agreed")
    assert (start, end) == pytest.approx((LEFT, WIDTH - RIGHT))


def test_what_lies_outside_the_weeks_is_not_drawn() -> None:
    kit = drawn("Ada", date(2027, 8, 1), date(2027, 9, 1), Hold.AGREED)
    assert "Ada" not in plan_chart(WINDOW, [], [kit], TODAY)
    assert "plan-today" not in plan_chart(WINDOW, [], [], date(2028, 1, 1))


def test_bars_runs_and_codes_are_links_and_clashes_have_shape_and_words() -> None:
    name = 'Zoë <script> & "Co"'
    kit = drawn(name, date(2027, 1, 4), date(2027, 3, 3), Hold.AWAY)
    run = RunBar(name, "/runs/1/", date(2027, 3, 1), date(2027, 4, 1))
    chart = plan_chart(WINDOW, [run], [kit], TODAY)
    root = ElementTree.fromstring(chart)
    links = [link.get("href") for link in root.iter("a")]
    assert links == ["/runs/1/", "/kits/K0001A/", "/loans/1/"]
    assert all(link.get("aria-label") for link in root.iter("a"))
    texts = [text.text for text in root.iter("text")]
    assert "7 days overdue" in texts and "8 Mar" in texts
    assert chart.count('class="plan-clash"') == 2
    assert "style=" not in chart and "<script" not in chart


def test_a_name_is_cut_to_its_bar_and_left_out_of_a_short_one() -> None:
    long = drawn(
        "Wilhelmina Archibald-Montgomery", date(2027, 3, 8), date(2027, 3, 22), Hold.AGREED
    )
    texts = re.findall(r'class="plan-who"[^>]*>([^<]*)', plan_chart(WINDOW, [], [long], TODAY))
    assert texts and texts[0].endswith("…") and texts[0].startswith("Wilhelmina")
    short = drawn("Wilhelmina", date(2027, 3, 8), date(2027, 3, 10), Hold.AGREED)
    assert "plan-who" not in plan_chart(WINDOW, [], [short], TODAY)

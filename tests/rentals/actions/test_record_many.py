"""Many events in few queries, in the same chains."""

import pytest

from rentals import transaction
from rentals.actions.record import lock_kit, record_kit
from rentals.actions.record_many import KitNews, record_kits
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import Event, Kit, Webhook
from rentals.verify import verify
from tests.factories import complete_kit
from tests.written import AT, rows_written

pytestmark = pytest.mark.django_db(transaction=False)


def test_a_kit_may_have_several_events_at_once() -> None:
    kit = lock_kit(complete_kit())
    before = kit.event_count
    news = [KitNews(kit, Verb.NOTED, text) for text in ("First.", "Second.")]
    assert record_kits(news) == 2
    assert Event.objects.get(chain=kit.code, number=before + 2).text == "Second."
    assert verify() == []


def test_kits_move_and_programs_elsewhere_are_told_as_by_single_acts(owner) -> None:
    def receiver(name: str, topics: list[str]) -> None:
        Webhook.objects.create(
            address=f"https://{name}.example", topics=topics, nonce=name, made_at=AT
        )

    kits = [complete_kit(cleared=False) for _ in range(3)]
    receiver("one", ["kit.cleared"])
    receiver("other", ["kit.cleared", "kit.lost"])
    told = [(number, verb) for number in (2, 0, 1) for verb in (Verb.CLEARED, Verb.UNCLEARED)]

    def locked() -> list[Kit]:
        found = [lock_kit(kit) for kit in kits]
        for kit in found:
            kit.note = "Looked at"
        return found

    def one_by_one() -> None:
        with transaction.atomic():
            here = locked()
            for number, verb in told:
                record_kit(here[number], verb, f"Said: {verb}.", actor=owner, at=AT)

    def at_once() -> None:
        with transaction.atomic():
            here = locked()
            news = [KitNews(here[number], verb, f"Said: {verb}.") for number, verb in told]
            record_kits(news, also=["note"], actor=owner, at=AT)

    single, many = rows_written(one_by_one), rows_written(at_once)
    assert many == single
    assert len(many["rentals.WebhookCall"]) == 2 * len(kits)


def test_the_first_act_that_may_not_happen_refuses_all() -> None:
    kit = lock_kit(complete_kit())
    news = [KitNews(kit, verb, "Said.") for verb in (Verb.NOTED, Verb.DISPATCHED)]
    before = Event.objects.count()
    with pytest.raises(Refused, match=kit.code):
        record_kits(news)
    assert Event.objects.count() == before

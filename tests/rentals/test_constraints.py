"""What must never happen, tried on the database behind the actions' backs."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from rentals.actions.guide import begin_help
from rentals.models import (
    Amplifier,
    ContentsLine,
    CourseRun,
    ElectrodeBatch,
    Enrolment,
    Event,
    FaultReport,
    FoundPart,
    GuideVisit,
    Kit,
    Loan,
    PackingLine,
    Part,
    Replacement,
    Shortfall,
    StockItem,
)
from tests.factories import (
    EnrolmentFactory,
    StockItemFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
    spare,
)
from tests.rentals.actions.test_found import parcel_with
from tests.rentals.guide import reported

pytestmark = pytest.mark.django_db


@pytest.fixture
def refused():
    """The database says no, naming the rule."""

    def expect(rule: str):
        return pytest.raises(IntegrityError, match=rule)

    return expect


def saved(do) -> None:
    with transaction.atomic():
        do()


def test_one_serial_cannot_be_two_parts_and_so_not_in_two_kits(refused):
    part = spare("amplifier", "A-100")
    with refused("part_serial_once_per_kind"):
        saved(lambda: Amplifier.objects.create(code="P9999X", kind="amplifier", serial="a-100"))
    with pytest.raises(IntegrityError):
        saved(lambda: Part.objects.bulk_create([Part(code=part.code, kind="charger", serial="B")]))


def test_a_part_is_in_a_kit_exactly_when_fitted(refused):
    kit = complete_kit()
    with refused("part_in_a_kit_exactly_when_fitted"):
        saved(lambda: Part.objects.filter(kit=kit).update(place="spare"))
    loose = spare("amplifier")
    with refused("part_in_a_kit_exactly_when_fitted"):
        saved(lambda: Part.objects.filter(pk=loose.pk).update(kit=kit))


def test_a_kit_is_on_one_open_loan(refused):
    loan = assigned_loan()
    other = EnrolmentFactory(run=loan.enrolment.run)
    with refused("kit_on_one_open_loan|kit_id"):
        saved(
            lambda: Loan.objects.create(
                kit=loan.kit,
                enrolment=other,
                post_by=loan.post_by,
                due_on=loan.due_on,
                assigned_at=timezone.now(),
            )
        )


def test_an_enrolment_has_one_open_loan(refused):
    loan = assigned_loan()
    kit = complete_kit(loan.kit.kit_type)
    with refused("enrolment_has_one_open_loan|enrolment_id"):
        saved(
            lambda: Loan.objects.create(
                kit=kit,
                enrolment=loan.enrolment,
                post_by=loan.post_by,
                due_on=loan.due_on,
                assigned_at=timezone.now(),
            )
        )


def test_only_a_faulty_kit_leaves_room_for_another_and_it_is_replaced_once(refused):
    loan = assigned_loan()
    facts = {
        "enrolment": loan.enrolment,
        "post_by": loan.post_by,
        "due_on": loan.due_on,
        "assigned_at": timezone.now(),
    }
    kits = [complete_kit(loan.kit.kit_type) for _ in range(2)]
    with refused("loan_faulty_only_once_it_went_out"):
        saved(lambda: Loan.objects.filter(pk=loan.pk).update(fault="Dead."))
    with refused("enrolment_has_one_open_loan|enrolment_id"):
        saved(lambda: Loan.objects.create(kit=kits[0], replaces=loan, **facts))
    with refused("loan_does_not_replace_itself"):
        saved(lambda: Loan.objects.filter(pk=loan.pk).update(replaces=loan))
    Loan.objects.filter(pk=loan.pk).update(fault="Dead.", dispatched_at=timezone.now())
    saved(lambda: Loan.objects.create(kit=kits[0], replaces=loan, **facts))
    ended = facts | {"stage": "settled", "packed_at": timezone.now(), "override_reason": "x"}
    with refused("loan_is_replaced_once|replaces_id"):
        saved(lambda: Loan.objects.create(kit=kits[1], replaces=loan, **ended))
    with refused("enrolment_has_one_open_loan|enrolment_id"):
        saved(lambda: Loan.objects.create(kit=kits[1], **facts))


def test_a_replacement_is_one_thing_for_one_line_and_goes_or_is_cancelled(refused):
    loan = packed_loan()
    line, now = loan.packing_lines.get(part_kind="charger"), timezone.now()
    facts = {"loan": loan, "faulty": line, "why": "Hot", "asked_at": now}
    with refused("replacement_is_a_part_or_counted"):
        saved(lambda: Replacement.objects.create(**facts))
    with refused("replacement_says_why"):
        saved(lambda: Replacement.objects.create(**facts | {"why": "", "part": line.part}))
    row = Replacement.objects.create(**facts, part=spare("charger"))
    with refused("packing_line_replaced_once|faulty_id"):
        saved(lambda: Replacement.objects.create(**facts, part=spare("charger")))
    other = facts | {"faulty": loan.packing_lines.get(part_kind="amplifier")}
    with refused("spare_promised_once|part_id"):
        saved(lambda: Replacement.objects.create(**other, part=row.part))
    with refused("replacement_cancelled_only_before_it_is_sent"):
        saved(lambda: Replacement.objects.update(sent_at=now, cancelled_at=now))


def test_a_student_is_enrolled_once_per_run(refused):
    enrolment = EnrolmentFactory()
    with refused("student_enrolled_once_per_run|student_id"):
        saved(lambda: Enrolment.objects.create(run=enrolment.run, student=enrolment.student))


@pytest.mark.parametrize("state", ["packed", "away"])
def test_a_kit_is_not_issued_without_clearance_or_override(refused, state):
    kit = complete_kit(cleared=False)
    with refused("kit_issued_only_when_cleared_or_overridden"):
        saved(lambda: Kit.objects.filter(pk=kit.pk).update(state=state))


@pytest.mark.parametrize("stage", ["packed", "away", "check", "returned", "settled"])
def test_a_loan_does_not_pass_packing_without_clearance_or_override(refused, stage):
    loan = assigned_loan()
    with refused("loan_issued_only_when_cleared_or_overridden"):
        saved(lambda: Loan.objects.filter(pk=loan.pk).update(stage=stage, packed_at=timezone.now()))


def test_a_loan_is_not_away_without_having_been_packed(refused):
    loan = assigned_loan()
    with refused("loan_beyond_packing_was_packed"):
        saved(
            lambda: Loan.objects.filter(pk=loan.pk).update(
                stage="away", cleared_at_packing=timezone.now()
            )
        )


def test_a_kit_just_back_is_never_cleared(refused):
    kit = complete_kit()
    with refused("kit_just_back_is_not_cleared"):
        saved(lambda: Kit.objects.filter(pk=kit.pk).update(state="check"))


def test_a_kit_is_held_only_with_reason_and_way_back(refused):
    kit = complete_kit()
    with refused("kit_held"):
        saved(lambda: Kit.objects.filter(pk=kit.pk).update(state="held", held_from="shelf"))
    with refused("kit_held"):
        saved(lambda: Kit.objects.filter(pk=kit.pk).update(state="held", hold_reason="smell"))


def test_stock_is_never_negative(refused):
    item = StockItemFactory(on_hand=3)
    with refused("stock_never_negative"):
        saved(lambda: StockItem.objects.filter(pk=item.pk).update(on_hand=-1))
    batched = StockItemFactory(name="Gel electrodes", kind="electrodes", by_batch=True, on_hand=0)
    batch = ElectrodeBatch.objects.create(item=batched, batch_number="G1", on_hand=0)
    with refused("batch_never_negative"):
        saved(lambda: ElectrodeBatch.objects.filter(pk=batch.pk).update(on_hand=-1))
    with refused("stock_by_batch_is_counted_in_batches"):
        saved(lambda: StockItem.objects.filter(pk=batched.pk).update(on_hand=5))


def test_a_loan_does_not_end_before_it_starts(refused):
    loan = packed_loan()
    now = timezone.now()
    with refused("loan_ends_after_it_starts"):
        saved(
            lambda: Loan.objects.filter(pk=loan.pk).update(
                dispatched_at=now, arrived_at=now - timedelta(seconds=1)
            )
        )
    with refused("loan_due_after_posting"):
        saved(
            lambda: Loan.objects.filter(pk=loan.pk).update(due_on=loan.post_by - timedelta(days=1))
        )


def test_a_run_does_not_end_before_it_starts(refused):
    run = EnrolmentFactory().run
    with refused("run_ends_after_it_starts"):
        saved(
            lambda: CourseRun.objects.filter(pk=run.pk).update(
                ends_on=run.starts_on - timedelta(days=1)
            )
        )
    with refused("run_return_after_posting"):
        saved(
            lambda: CourseRun.objects.filter(pk=run.pk).update(
                return_by=run.post_by - timedelta(days=1)
            )
        )


def test_single_use_parts_never_come_back(refused):
    loan = packed_loan()
    with refused("packing_single_use_never_comes_back"):
        saved(lambda: PackingLine.objects.filter(loan=loan).update(single_use=True))
    with refused("contents_single_use"):
        saved(
            lambda: ContentsLine.objects.filter(kit_type=loan.kit.kit_type).update(single_use=True)
        )


def test_a_shortfall_is_waived_only_with_a_reason(refused):
    loan = packed_loan()
    short = Shortfall.objects.create(
        loan=loan, packing_line=loan.packing_lines.first(), kind="missing", opened_at=timezone.now()
    )
    with refused("shortfall_waived_only_with_a_reason"):
        saved(
            lambda: Shortfall.objects.filter(pk=short.pk).update(
                state="waived", closed_at=timezone.now()
            )
        )
    with refused("shortfall_closed_exactly_when_ended"):
        saved(lambda: Shortfall.objects.filter(pk=short.pk).update(state="charged"))


def test_a_found_part_is_one_task_that_ends_where_its_place_is_known(refused):
    thing = parcel_with(complete_kit().parts.get(kind="charger"))
    row = FoundPart.objects.filter(pk=thing.pk)
    twin = FoundPart(check_of=thing.check_of, text="again", part=thing.part, at=thing.at)
    with refused("found_part_is_one_task|part_id"):
        saved(twin.save)
    with refused("found_part_ended_exactly_when_put_away"):
        saved(lambda: row.update(state="moved"))
    with refused("found_part_aside_only_with_its_place"):
        saved(lambda: row.update(state="aside", ended_at=thing.at))
    with refused("found_part_of_a_kit_only_if_known"):
        saved(lambda: row.update(state="waiting", lies="shelf 3", part=None))


def test_an_event_number_is_taken_once(refused):
    kit = complete_kit()
    event = Event.objects.filter(kit=kit).first()
    event.pk = None
    with refused("event_number_once_per_chain|chain"):
        saved(lambda: event.save(force_insert=True))


def test_a_symptom_has_one_open_visit_and_a_report_ends_with_what_was_done(refused):
    report = reported("hum")
    begin_help(report.loan, "hum")
    facts = {"loan": report.loan, "symptom": "hum", "started_at": timezone.now()}
    with refused("one_open_guide_visit_per_symptom|guidevisit"):
        saved(lambda: GuideVisit.objects.create(**facts))
    with refused("guide_visit_ended_exactly_with_an_outcome"):
        saved(lambda: GuideVisit.objects.filter(pk=report.visit_id).update(ended_at=None))
    rows = FaultReport.objects.filter(pk=report.pk)
    with refused("fault_report_ends_with_what_was_done"):
        saved(lambda: rows.update(state="answered"))
    with refused("fault_report_closed_exactly_with_its_day"):
        saved(lambda: rows.update(state="closed", answer="Done."))

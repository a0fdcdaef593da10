"""The acts that can happen at random on the small desk: public actions on rows drawn by chance."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

from django.utils import timezone

from rentals.actions import (
    assign,
    balance,
    deposit,
    dispatch,
    earmark,
    found,
    issue,
    pack,
    receive,
    register,
    restock,
    return_scan,
    runs,
    settle,
)
from rentals.actions.draft import draft
from rentals.actions.erase import erase
from rentals.actions.part_return import await_rest
from rentals.actions.receive_rest import note_rest_back
from rentals.actions.retention import keep_no_longer
from rentals.actions.return_steps import tick_step
from rentals.actions.swap import give_another_kit
from rentals.errors import Refused
from rentals.models import (
    Enrolment,
    FoundPart,
    Kit,
    Loan,
    Message,
    Part,
    ReturnCheck,
    ReturnLine,
    Shortfall,
    StockItem,
    Student,
)
from tests.rentals.photos import add_pictures
from tests.rentals.random_desk import Act, RandomDesk


def drawn(desk: RandomDesk) -> Act:
    """The next act: more often than not what comes next for some loan."""
    return desk.chance.choice(ACTS) if desk.chance.random() < 0.4 else onward


def onward(desk: RandomDesk) -> None:
    """The next thing in the life of some kit or loan."""
    loan = desk.some(Loan.objects.exclude(stage="cancelled"))
    if loan is None or desk.chance.random() < 0.2:
        return lend(desk)
    return {
        "assigned": pack_it,
        "packed": send_it,
        "away": arrive,
        "check": finish,
        "returned": settle_it,
        "lost": settle_it,
        "settled": pay_or_part,
    }[loan.stage](desk, loan)


def lend(desk: RandomDesk, _: Loan | None = None) -> None:
    kit = desk.some(Kit.objects.filter(state__in=["bench", "shelf"]))
    enrolment = desk.some(Enrolment.objects.filter(withdrawn_on=None))
    if kit is None or enrolment is None:
        return
    issue.clear(kit, why="all tests fit", at=desk.now)
    assign.assign(kit, enrolment, at=desk.now)


def _loan(desk: RandomDesk, *stages: str) -> Loan:
    loan = desk.some(Loan.objects.filter(stage__in=stages) if stages else Loan.objects.all())
    if loan is None:
        raise Refused("There is no such loan.")
    return loan


def pack_it(desk: RandomDesk, loan: Loan | None = None) -> None:
    loan = loan or _loan(desk)
    if loan.stage == "assigned":
        for line in loan.packing_lines.filter(ticked_at=None):
            pack.tick(line)
    pack.pack(loan.kit, at=desk.now)


def send_it(desk: RandomDesk, loan: Loan | None = None) -> None:
    loan = loan or _loan(desk)
    number = f"TN{desk.chance.randrange(10**9):09d}"
    dispatch.dispatch(loan.kit, carrier="By hand", tracking_number=number, at=desk.now)


def arrive(desk: RandomDesk, loan: Loan | None = None) -> None:
    receive.arrive((loan or _loan(desk)).kit, at=desk.now)


def finish(desk: RandomDesk, loan: Loan | None = None) -> None:
    check = (loan or _loan(desk, "check")).return_check
    for line in check.lines.filter(outcome="open"):
        outcome = desk.chance.choice(["back", "back", "back", "back", "missing", "damaged"])
        receive.note_line(line, outcome, cleaned=True, charged=True, note=desk.words())
    for step in check.loan.return_steps.all():
        tick_step(step, done=True)
    receive.finish_check(check, at=desk.now)


def note_some_line(desk: RandomDesk) -> None:
    line = desk.some(ReturnLine.objects.all())
    if line is not None:
        outcome = desk.chance.choice(["back", "missing", "damaged", "used_up", "open"])
        number = desk.chance.choice([None, 0, 1, 2])
        receive.note_line(line, outcome, quantity_back=number, cleaned=True, charged=True)


def scan_some_part(desk: RandomDesk) -> None:
    check, part = desk.some(ReturnCheck.objects.all()), desk.some(Part.objects.all())
    if check is not None and part is not None:
        return_scan.scan_return(check, part.code, at=desk.now)


def find_something(desk: RandomDesk) -> None:
    check = desk.some(ReturnCheck.objects.all())
    if check is not None:
        return_scan.note_found(check, desk.words(), at=desk.now)


def put_found_away(desk: RandomDesk) -> None:
    thing = desk.some(FoundPart.objects.all())
    if thing is None:
        return
    if desk.chance.random() < 0.5:
        found.move_found(thing, at=desk.now)
    else:
        found.keep_aside(thing, f"shelf of {desk.words()}", at=desk.now)


def count_the_rest_back(desk: RandomDesk) -> None:
    check = _loan(desk, "check").return_check
    note_rest_back(check, cleaned=True, charged=True, at=desk.now)


def finish_in_part(desk: RandomDesk) -> None:
    await_rest(_loan(desk, "check").return_check, at=desk.now)


def write_off(desk: RandomDesk) -> None:
    receive.write_off(_loan(desk).kit, reason=desk.words(), at=desk.now)


def settle_it(desk: RandomDesk, loan: Loan | None = None) -> None:
    loan = loan or _loan(desk)
    for short in loan.shortfalls.filter(state__in=["open", "chased"]):
        decide(desk, short)
    settle.settle(loan, at=desk.now)


def decide(desk: RandomDesk, short: Shortfall | None = None) -> None:
    short = short or desk.some(Shortfall.objects.all())
    if short is None:
        return
    way = desk.chance.choice(["chase", "recover", "charge", "charge", "waive"])
    if way == "charge":
        amount = Decimal(desk.chance.randrange(4000)) / 100
        settle.charge(short, amount, reason=desk.words(), at=desk.now)
    elif way == "waive":
        settle.waive(short, reason=desk.words(), at=desk.now)
    else:
        getattr(settle, way)(short, at=desk.now)


def pay_or_part(desk: RandomDesk, loan: Loan | None = None) -> None:
    loan = loan or _loan(desk)
    day = timezone.localdate(desk.now)
    way = desk.chance.random()
    if way < 0.5:
        paid = balance.Paid(memo=desk.words())
        balance.note_balance_paid(loan, day, paid, at=desk.now)
    elif way < 0.6:
        balance.note_balance_paid(loan, None, at=desk.now)
    elif way < 0.7:
        balance.give_up_balance(loan, reason=desk.words(), at=desk.now)
    else:
        forget(desk, loan.enrolment.student)


def deposit_comes(desk: RandomDesk) -> None:
    amount = desk.chance.choice([None, Decimal(5), Decimal("12.50")])
    deposit.receive_deposit(_loan(desk), amount=amount, memo=desk.words(), at=desk.now)


def forget(desk: RandomDesk, student: Student | None = None) -> None:
    student = student or desk.some(Student.objects.filter(erased_at=None))
    if student is None or student.erased_at:
        return
    if desk.chance.random() < 0.5:
        desk.now += timedelta(days=100)
    words = (student.name, student.email, student.phone, student.street)
    erase(student, at=desk.now)
    desk.erased.append((*words, student.name.split()[1]))


def years_pass(desk: RandomDesk) -> None:
    desk.now += timedelta(days=desk.chance.choice([30, 100, 800]))
    names = {s.pk: s for s in Student.objects.filter(erased_at=None)}
    keep_no_longer(at=desk.now)
    for student in Student.objects.filter(pk__in=names).exclude(erased_at=None):
        before = names[student.pk]
        desk.erased.append((before.name, before.email, before.phone, before.street))


def take_back(desk: RandomDesk) -> None:
    kit = _loan(desk).kit
    act = desk.chance.choice([issue.unassign, pack.unpack, dispatch.recall])
    act(kit, reason=desk.words(), at=desk.now)


def another_kit(desk: RandomDesk) -> None:
    give_another_kit(_loan(desk, "assigned"), desk.some(Kit.objects.all()), at=desk.now)


def other_days(desk: RandomDesk) -> None:
    loan, day = _loan(desk), timezone.localdate(desk.now)
    if desk.chance.random() < 0.5:
        dispatch.extend(loan, day + timedelta(days=desk.chance.randrange(60)), at=desk.now)
    else:
        dispatch.note_sent_back(loan, day, tracking_number="RT123456789", at=desk.now)


def hold_or_release(desk: RandomDesk) -> None:
    kit = desk.some(Kit.objects.all())
    if desk.chance.random() < 0.5:
        issue.hold(kit, reason=desk.words(), at=desk.now)
    else:
        issue.release(kit, at=desk.now)


def bench(desk: RandomDesk) -> None:
    kit = desk.some(Kit.objects.all())
    if desk.chance.random() < 0.7:
        issue.clear(kit, why="all tests fit", at=desk.now)
    else:
        issue.refuse_clearance(kit, reason="Lead A is open.", at=desk.now)


def change_parts(desk: RandomDesk) -> None:
    kit, part = desk.some(Kit.objects.all()), desk.some(Part.objects.all())
    to = desk.chance.choice(["spare", "repair", "lost", "retired", "missing"])
    way = desk.chance.random()
    if way < 0.3:
        register.fit_part(kit, part, at=desk.now)
    elif way < 0.5:
        register.remove_part(kit, part, to=to, reason=desk.words(), cause="other", at=desk.now)
    elif way < 0.7:
        register.place_part(part, to, reason=desk.words(), cause="other", at=desk.now)
    elif way < 0.9:
        new = desk.some(Part.objects.filter(kind=part.kind, place="spare"))
        register.swap_part(kit, part, new or part, reason=desk.words(), at=desk.now)
    else:
        register.mark_damaged(part, desk.words(), at=desk.now)


def buy_or_count(desk: RandomDesk) -> None:
    item = desk.some(StockItem.objects.filter(by_batch=False))
    before = item.on_hand
    if desk.chance.random() < 0.5:
        restock.restock(item, 3, at=desk.now)
    else:
        number = desk.chance.randrange(12)
        restock.count_stock(item, number, reason=desk.words(), at=desk.now)
    item.refresh_from_db()
    desk.bought[item.pk] = desk.bought.get(item.pk, 0) + item.on_hand - before


def retire(desk: RandomDesk) -> None:
    issue.retire(desk.some(Kit.objects.all()), reason=desk.words(), at=desk.now)


def write_a_note(desk: RandomDesk) -> None:
    issue.note(desk.some(Kit.objects.all()), desk.words(), at=desk.now)


def write_a_mail(desk: RandomDesk) -> None:
    draft(desk.chance.choice(Message.Occasion.values), _loan(desk), at=desk.now)


def take_a_photo(desk: RandomDesk) -> None:
    line = _loan(desk).packing_lines.first()
    if line is not None:
        add_pictures(line, str(desk.chance.random()).encode(), at=desk.now)


def come_and_go(desk: RandomDesk) -> None:
    enrolment = desk.some(Enrolment.objects.all())
    way = desk.chance.random()
    if way < 0.4 and desk.students < 5:
        desk.enrol()
    elif way < 0.7:
        runs.withdraw(enrolment, on=timezone.localdate(desk.now), at=desk.now)
    else:
        kit = desk.some(Kit.objects.all())
        earmark.set_aside({enrolment.pk: kit.code}, at=desk.now)


ACTS: tuple[Act, ...] = (
    pack_it,
    send_it,
    arrive,
    finish,
    note_some_line,
    scan_some_part,
    find_something,
    put_found_away,
    count_the_rest_back,
    finish_in_part,
    write_off,
    settle_it,
    decide,
    pay_or_part,
    deposit_comes,
    forget,
    years_pass,
    take_back,
    another_kit,
    other_days,
    hold_or_release,
    bench,
    change_parts,
    buy_or_count,
    retire,
    write_a_note,
    write_a_mail,
    take_a_photo,
    come_and_go,
)

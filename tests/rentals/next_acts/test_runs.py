"""What is next with a run, and how far it has come."""

from __future__ import annotations

from rentals.next_acts import (
    RunSituation,
    run_act,
    run_sentence,
)

from .situations import runs


def test_a_run_asks_for_one_thing_at_a_time_in_the_order_of_the_work():
    order = [
        "Finish the roster",
        "Import the roster",
        "Assign kits",
        "Pack",
        "Dispatch",
        "Check returns",
        "See what is overdue",
    ]
    for run in runs():
        waiting = [
            run.roster_waits,
            not run.students,
            run.without_kit or run.set_aside_here,
            run.to_pack,
            run.to_dispatch,
            run.to_check,
            run.overdue,
        ]
        acts = [act for act, waits in zip(order, waiting, strict=True) if waits]
        way = run_act(run)
        assert (way.act if way else None) == (acts[0] if acts else None)


def test_a_run_says_how_far_it_has_come():
    assert run_sentence(RunSituation()) == "Nobody is on this run yet."
    assert run_sentence(RunSituation(students=1, to_pack=1)) == "1 student, 1 to pack."
    ahead = RunSituation(students=3, without_kit=1, set_aside=2)
    assert run_sentence(ahead) == "3 students, 1 without a kit, 2 with a kit set aside."
    far = RunSituation(
        students=9, without_kit=1, to_dispatch=2, away=3, overdue=1, to_check=1, to_settle=2
    )
    assert run_sentence(far) == (
        "9 students, 1 without a kit, 2 to dispatch, 3 away (1 overdue), 1 back to check,"
        " 2 to settle."
    )

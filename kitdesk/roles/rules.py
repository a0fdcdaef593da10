"""The table of rules: for each page by the name of its address, who may open it and who may post
to it. The owner may do everything; what stands in no line is refused to everybody.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from .role import DeskRole, Roles

PACKER = frozenset({DeskRole.PACKER})
BENCH = frozenset({DeskRole.BENCH})
READER = frozenset({DeskRole.READER})
HANDS = PACKER | BENCH
DESK = PACKER | READER
ALL = PACKER | BENCH | READER
OWNER_ALONE: Roles = frozenset()


class Rule(NamedTuple):
    """Who may open a page and who may post to it; the owner goes without saying.

    ``signed_in``: whoever has an account, with or without a role. ``everybody``: the page asks for
    no sign-in, or has its own key in its address.
    """

    see: Roles
    do: Roles
    signed_in: bool = False
    everybody: bool = False

    def lets(self, roles: Roles, *, posting: bool) -> bool:
        """Whether somebody who is signed in and holds these roles may."""
        if self.everybody or self.signed_in or DeskRole.OWNER in roles:
            return True
        return bool(roles & (self.do if posting else self.see))


EVERYBODY = Rule(ALL, ALL, everybody=True)
SIGNED_IN = Rule(ALL, ALL, signed_in=True)

_SHELL = """
    theme signals keys sessions session_end operations
    rentals:errands rentals:errand rentals:errand_cancel rentals:errand_file
    rentals:today rentals:scan rentals:scan_code rentals:scan_code_loose
    rentals:label_photo rentals:pick_code
    account_logout account_reauthenticate account_change_password
    mfa_index mfa_reauthenticate mfa_activate_totp mfa_deactivate_totp
    mfa_list_webauthn mfa_add_webauthn mfa_edit_webauthn mfa_remove_webauthn
    mfa_reauthenticate_webauthn
    mfa_view_recovery_codes mfa_generate_recovery_codes mfa_download_recovery_codes
"""
_OPEN = """
    health metrics door first_run account_login account_inactive account_signup mfa_authenticate
    mfa_login_webauthn
    rentals:calendar_feed
    rentals:my_kit rentals:my_kit_use rentals:my_kit_arrival rentals:my_kit_return
    rentals:my_kit_sheet rentals:my_kit_language
    rentals:my_help rentals:my_help_visit rentals:my_help_again rentals:my_help_report
    student_bench:captures
"""
_OWNERS = """
    people people_open people_password people_roles
    people_sessions people_session_end backups backup_now watching verify_now
    rentals:access_tokens rentals:access_token_revoke
    rentals:webhooks rentals:webhook rentals:webhook_pause rentals:webhook_resume
    rentals:webhook_trial rentals:webhook_remove rentals:webhook_again
    readiness:plan readiness:plan_rescore readiness:accept_limit
    rentals:pack_override rentals:pack_short_dated
    rentals:kit_retire rentals:student_data rentals:student_erase rentals:privacy
    rentals:practice rentals:plan_days rentals:own_days
    rentals:transit_new rentals:transit rentals:transit_drop
    rentals:guide_steps rentals:own_step_new rentals:guide_step rentals:own_step
    rentals:own_step_remove
    rentals:mail_wordings rentals:mail_wording rentals:mail_wording_usual
    rentals:mail_wording_language rentals:mail_wording_in rentals:mail_wording_remove
    rentals:student_texts rentals:student_text rentals:student_text_usual
    rentals:reminders rentals:reminder_new rentals:reminders_usual rentals:reminder
    rentals:reminder_remove
    rentals:carriers rentals:carrier_new rentals:carrier rentals:carrier_remove
    rentals:customs rentals:customs_place
    rentals:kit_type_new rentals:kit_type_starter rentals:kit_type_edit
    rentals:contents_line_new rentals:contents_line rentals:contents_line_move
    rentals:contents_line_remove rentals:contents_line_put_back
    rentals:return_step_new rentals:return_steps_starter rentals:return_step
    rentals:return_step_move rentals:return_step_remove
    rentals:sheet_new rentals:sheet rentals:sheet_remove
"""
_ALL_READ = """
    rentals:kits rentals:kit rentals:kit_history
    rentals:parts rentals:part rentals:reports rentals:setup
    bench_reports:fleet bench_reports:caught
    readiness:drops readiness:batch readiness:capture readiness:capture_file
    readiness:kit_bench readiness:kit_panel readiness:timer_index readiness:timer
    readiness:report_captures readiness:report_capture_file
"""
_BENCH_WORKS = """
    readiness:bench_upload readiness:capture_answer readiness:capture_again
    readiness:capture_moved readiness:capture_aside readiness:capture_count_again
    readiness:columns readiness:column_maps readiness:kit_clear readiness:kit_battery
    readiness:check_kit readiness:kit_at_hand readiness:round readiness:round_begin
    readiness:round_drop readiness:round_confirm
"""
_HANDS_WORK = """
    rentals:kit_new rentals:fleet rentals:fleet_template rentals:kit_labels rentals:kits_hold
    rentals:kit_fit rentals:kit_register rentals:kit_swap rentals:kit_remove rentals:kit_hold
    rentals:kit_release rentals:kit_note
    rentals:part_new rentals:part_labels rentals:parts_move rentals:part_move rentals:part_damage
    rentals:labels rentals:labels_pdf rentals:calibration rentals:sheets
"""
_DESK_READS = """
    rentals:stock rentals:stock_item rentals:kit_types rentals:kit_type
    rentals:plan_leads
    rentals:runs rentals:run rentals:students rentals:student
    rentals:plan rentals:chances rentals:plan_stock rentals:plan_stock_pdf
    rentals:money rentals:pack rentals:receive
    rentals:out_print rentals:receive_photo
    rentals:loan rentals:loan_packing_list rentals:loan_contents_statement
    rentals:loan_statement rentals:replacement_slip
    rentals:shortfalls rentals:shortfall
    rentals:report_losses rentals:report_losses_by_run
    rentals:report_use
    rentals:report_use_by_student rentals:report_costs
    rentals:report_costs_by_loan
    rentals:guide_solved rentals:messages rentals:messages_batch rentals:message
    rentals:attachment
"""
#: Papers and lists that are made in the background where they are long: asking for one is a form.
_DESK_PRINTS = """
    rentals:run_packing_lists rentals:plan_leads_export rentals:plan_stock_export
    rentals:money_export rentals:out_export
    rentals:report_losses_file rentals:report_losses_by_run_file rentals:report_use_file
    rentals:report_use_by_student_file rentals:report_costs_file
    rentals:report_costs_by_loan_file
"""
_ALL_PRINT = """
    rentals:kits_export bench_reports:fleet_file bench_reports:caught_file
"""
_PACKERS_WORK = """
    rentals:stock_new rentals:stock_edit rentals:stock_batch rentals:stock_count
    rentals:run_new rentals:run_days rentals:run_edit rentals:run_assign rentals:enrol
    rentals:run_dispatch rentals:run_mail rentals:roster_template rentals:run_import
    rentals:roster rentals:roster_columns rentals:roster_letters rentals:roster_discard
    rentals:withdraw
    rentals:plan_lend rentals:plan_swap rentals:plan_assign rentals:plan_pin
    rentals:loan_deposit rentals:loan_give_up rentals:loan_claim rentals:loan_compensated
    rentals:loan_not_compensated
    rentals:dispatch_list rentals:dispatch_scan rentals:dispatch_undo
    rentals:pack_kit rentals:pack_tick rentals:pack_scan rentals:pack_rest rentals:pack_close
    rentals:pack_unpack rentals:pack_mail
    rentals:pack_dispatch rentals:pack_recall rentals:pack_tracking
    rentals:receive_table rentals:receive_table_scan rentals:receive_kit rentals:receive_arrived
    rentals:receive_scan rentals:receive_rest rentals:receive_found rentals:receive_line
    rentals:receive_step rentals:photo_remove rentals:found_move rentals:found_aside
    rentals:loan_new_link rentals:loan_stop_link rentals:loan_arrival_answer rentals:loan_settle
    rentals:loan_paid rentals:loan_another_kit rentals:loan_another_part rentals:loan_extend
    rentals:loan_tracking rentals:loan_arrival rentals:loan_unassign rentals:loan_write_off
    rentals:replacement_send rentals:replacement_cancel rentals:replacement_faulty_back
    rentals:shortfall_photos rentals:shortfall_chase rentals:shortfall_recover
    rentals:shortfall_charge rentals:shortfall_waive
    rentals:fault_answer rentals:fault_close
    rentals:messages_approve rentals:message_approve rentals:message_edit
    rentals:message_address rentals:message_discard rentals:message_resend rentals:message_sent
    rentals:message_write rentals:loan_sent_back
    rentals:calendar_links rentals:calendar_renew rentals:calendar_revoke
"""


def _lines() -> Iterator[tuple[Rule, str]]:
    yield EVERYBODY, _OPEN
    yield SIGNED_IN, _SHELL
    yield Rule(OWNER_ALONE, OWNER_ALONE), _OWNERS
    yield Rule(ALL, OWNER_ALONE), _ALL_READ
    yield Rule(ALL, BENCH), "readiness:bench"
    yield Rule(BENCH, BENCH), _BENCH_WORKS
    yield Rule(HANDS, HANDS), _HANDS_WORK
    yield Rule(DESK, OWNER_ALONE), _DESK_READS
    yield Rule(DESK, DESK), _DESK_PRINTS
    yield Rule(ALL, ALL), _ALL_PRINT
    yield Rule(PACKER, PACKER), _PACKERS_WORK
    yield Rule(ALL, PACKER), "rentals:faults rentals:fault"
    yield Rule(HANDS, HANDS), "rentals:fault_hold"


def _table(lines: Iterable[tuple[Rule, str]]) -> dict[str, Rule]:
    table: dict[str, Rule] = {}
    for rule, names in lines:
        for name in names.split():
            if name in table:
                raise ValueError(f"{name} has two rules.")
            table[name] = rule
    return table


RULES = _table(_lines())

"""Each threat, and the tests that show our protection against it."""

import ast
from pathlib import Path

import pytest

TESTS = Path(__file__).parents[1]

THREATS: dict[str, tuple[str, ...]] = {
    "T-01 a stranger finds the bot": (
        "bot/test_air_crew.py::test_t01_a_stranger_is_told_no_once_a_day_and_only_counted",
    ),
    "T-02 an invite leaks": (
        "bot/test_air_crew.py::test_t02_an_invite_is_used_once_and_an_owner_approves",
        "bot/test_air_crew.py::test_t02_an_invite_is_kept_as_its_digest_only",
        "bot/test_air_crew.py::test_t02_an_invite_ends_after_fifteen_minutes",
        "bot/test_air_crew.py::test_t02_five_wrong_tries_shut_the_door_for_an_hour",
    ),
    "T-03 a stolen phone": (
        "bot/test_air_crew.py::test_t03_a_revoked_phone_is_out_at_once_and_its_job_is_held",
    ),
    "T-04 a driver edits or deletes a message": (
        "bot/test_air_channel.py::test_t04_an_edit_to_a_danger_still_stops",
        "bot/test_air_channel.py::test_t10_the_same_update_thrice_and_out_of_order_gives_one_entry",
    ),
    "T-05 back-dating": (
        "bot/test_desk.py::test_a_claimed_time_is_kept_apart_and_marks_the_entry_late",
        "bot/test_desk.py::test_over_thirty_seconds_between_stamp_and_writing_is_late",
        "packet/test_summary.py::test_a_camera_that_says_another_time_is_flagged",
    ),
    "T-06 the owner rewrites the record": (
        "packet/test_packet.py::test_a_rewrite_by_the_owner_passes_the_packets_checks",
        "packet/test_packet.py::test_a_rewrite_by_the_owner_is_caught_by_a_kept_receipt",
        "packet/test_packet.py::test_a_rewrite_by_the_owner_is_caught_by_an_earlier_time_stamp",
        "packet/test_stamping.py::test_a_rewritten_packet_can_only_have_a_new_stamp",
    ),
    "T-07 a job removed": ("packet/test_seals.py::test_a_missing_job_is_caught",),
    "T-08 a tail removed": ("packet/test_seals.py::test_a_missing_tail_is_caught",),
    "T-10 replayed or reordered updates": (
        "bot/test_air_channel.py::test_t10_the_same_update_thrice_and_out_of_order_gives_one_entry",
        "bot/test_air_webhook.py::test_t10_only_who_knows_the_secret_is_heard",
        "bot/test_air_webhook.py::test_t10_an_update_that_comes_again_gives_one_entry",
    ),
    "T-11 old buttons pressed": (
        "bot/test_air_buttons.py::test_t11_an_old_button_is_recorded_and_changes_nothing",
        "bot/test_air_buttons.py::test_t11_a_button_that_we_never_made_is_no_answer",
    ),
    "T-12 floods": (
        "bot/test_air_lanes.py::test_t12_a_flood_leaves_memory_flat_and_an_alarm_on_time",
    ),
    "T-13 image bombs": (
        "packet/test_summary.py::test_a_picture_made_to_hurt_is_not_shown",
    ),
    "T-14 a local file in place of the platform's": (
        "bot/test_air_channel.py::test_t14_t15_only_the_platforms_own_paths_are_fetched",
        "bot/test_air_channel.py::test_t14_a_file_of_another_size_than_named_is_not_taken",
    ),
    "T-15 a file path that points elsewhere": (
        "bot/test_air_channel.py::test_t14_t15_only_the_platforms_own_paths_are_fetched",
    ),
    "T-16 names that lead out of the folder": (
        "bot/test_air_channel.py::test_t16_files_are_kept_as_received_under_their_digest",
        "bot/test_media.py::test_a_file_name_is_ignored",
    ),
    "T-17 files of two types at once": (
        "bot/test_media.py::test_t17_a_picture_that_is_also_an_archive_is_kept_as_a_picture",
        "packet/test_summary.py::test_a_picture_made_to_hurt_is_not_shown",
    ),
    "T-18 archives": (
        "bot/test_media.py::test_no_kind_takes_an_archive",
        "bot/test_media.py::test_a_refused_file_leaves_nothing",
    ),
    "T-19 formulas in a spreadsheet": ("packet/test_packet.py::test_no_cell_is_a_formula",),
    "T-20 markup in a dispatcher's chat": (
        "bot/test_air_channel.py::test_t20_typed_text_is_never_markup_and_hides_nothing",
    ),
    "T-21 forwarded or bot-made messages": (
        "bot/test_air_channel.py::test_t21_a_message_made_by_somebody_else_is_no_answer",
    ),
    "T-22 the token in logs": (
        "bot/test_air_start.py::test_t22_no_sink_shows_the_token_of_a_platform_that_fails",
    ),
    "T-23 key theft": (
        "packet/test_keys.py::test_a_key_that_others_can_use_is_refused",
        "packet/test_keys.py::test_a_key_in_the_data_folder_is_refused",
        "packet/test_keeping.py::test_a_copy_contains_no_key_and_no_token",
        "packet/test_seals.py::test_a_rotation_is_signed_by_both_keys_and_later_entries_by_the_new",
    ),
    "T-24 clock changes": (
        "flows/test_clock.py::test_never_longer_than_true_and_never_missing",
        "flows/test_clock.py::test_a_step_of_the_wall_clock_alone_changes_nothing",
        "flows/test_clock.py::test_a_time_that_was_twice_is_its_first",
        "flows/test_clock.py::test_untrusted_elapsed_time_ends_the_window_with_words",
    ),
    "T-25 power loss": ("bot/test_kill.py::test_kills",),
    "T-26 an older backup restored": (
        "packet/test_seals.py::test_an_older_record_is_noticed_and_can_only_be_read",
        "packet/test_keeping.py::test_an_older_copy_continues_only_with_the_loss_recorded",
    ),
    "T-29 over-sharing": (
        "bot/test_air_dispatch.py::test_the_owner_gets_the_record_as_a_file_and_nobody_else",
        "packet/test_customer.py::test_it_has_no_name_no_text_and_no_exact_position",
        "packet/test_customer.py::test_each_entry_shown_has_a_proof_and_is_as_recorded",
    ),
    "T-30 a hostile packet to check": (
        "packet/test_hostile.py::test_names_that_lead_out_or_hide_are_refused",
        "packet/test_hostile.py::test_only_listed_names_are_opened",
    ),
    "T-32 the platform is down": (
        "bot/test_air_lanes.py::test_t32_while_the_platform_is_down_time_and_record_go_on",
    ),
}  # fmt: skip


@pytest.mark.parametrize("threat", THREATS)
def test_each_has_its_test(threat: str) -> None:
    for named in THREATS[threat]:
        file, _, name = named.partition("::")
        tree = ast.parse((TESTS / file).read_text("utf-8"))
        found = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]
        assert name in {test.name for test in found}, f"{threat}: {named} is gone"

//! What the terms want beside gaps: contents, notices, tails, release, restoration, delivery.

use super::check;
use expect_test::expect;

#[test]
fn what_the_terms_want_written_and_is_not() {
    check(
        "content_missing",
        "watch: 20:00 to 21:00
         gap hall: 60 min
         owed signature: yes
         owed instructions: yes
         owed review: yes
         demand signature: code LAMC 57.324
         20:00 Ines begins
         20:10 Ines sees hall
         20:20 Omar begins
         20:21 Omar reads the instructions
         21:00 Ines ends without signing
         21:00 Omar ends and signs",
        expect![[r#"
            Broken 20:00-21:00 {"what":"review","who":null} on no line sealed after … [terms]
            Broken 20:00-21:00 {"what":"instructions_read","who":"p-ines"} on 20:00 21:00 sealed after 0 s [terms]
            Broken 20:00-21:00 {"what":"signature","who":"p-ines"} on 20:00 21:00 sealed after 0 s [LAMC 57.324]
        "#]],
    );
}

/// A construction log with patrol entries but no entry per structure entered is incomplete under
/// IFC 3304.5.3.
#[test]
fn a_construction_log_wants_each_structure_entered() {
    let night = |entered: &str| {
        format!(
            "watch: 20:00 to 21:00
             gap yard: 60 min
             owed structures: yes
             demand structure_entries: code IFC 2021 3304.5.3
             20:00 Ines begins
             20:10 Ines sees yard
             {entered}
             20:50 Ines sees yard
             21:00 Ines ends and signs"
        )
    };
    check(
        "content_missing",
        &night("20:15 Ines notes: All quiet"),
        expect![[r#"
            Broken 20:00-21:00 {"what":"structure_entries","who":null} on no line sealed after … [IFC 2021 3304.5.3]
        "#]],
    );
    check("content_missing", &night("20:15 Ines enters block-c"), expect![[""]]);
}

/// A construction guard may have security duties (IFC 3304.5.2), a guard during an impairment may
/// have none (IFC 901.7).
#[test]
fn other_duties_are_accepted_in_construction_and_not_in_an_impairment() {
    let night = |allowed: &str, title: &str| {
        format!(
            "watch: 20:00 to 21:00
             gap hall: 60 min
             other duties: {allowed}
             demand other_duties: code {title}
             20:00 Ines begins
             20:10 Ines sees hall
             20:20 Ines is given another duty
             20:40 Ines ends the other duty
             20:50 Ines sees hall
             21:00 Ines ends and signs"
        )
    };
    check("other_duty", &night("yes", "IFC 2021 3304.5.2"), expect![[""]]);
    check(
        "other_duty",
        &night("no", "IFC 2021 901.7"),
        expect![[r#"
            Broken 20:20-20:40 {"length_s":1200,"who":"p-ines"} on 20:00 19:55 sealed after 0 s [IFC 2021 901.7]
        "#]],
    );
}

#[test]
fn whom_the_terms_want_told() {
    check(
        "notice_owed",
        "watch: 20:00 to 23:00
         gap hall: 60 min
         owed notice: fire-service
         owed notice: insurer within 2 h
         owed notice: owner within 30 min
         demand notify: code IFC 2021 901.7
         19:56 the desk notifies the fire-service by phone of fire-alarm
         20:00 Ines begins
         20:10 Ines sees hall
         21:00 Ines sees hall
         21:05 the desk notifies the owner by phone of fire-alarm
         21:55 Ines sees hall
         22:50 Ines sees hall
         23:00 Ines ends and signs",
        expect![[r#"
            Broken 20:00-23:00 {"after_s":null,"party":"insurer","system":"fire_alarm","within_s":7200} on 19:55 sealed after 0 s [IFC 2021 901.7]
            Broken 20:00-21:05 {"after_s":3900,"party":"owner","system":"fire_alarm","within_s":1800} on 19:55 21:05 sealed after 0 s [IFC 2021 901.7]
            Kept 20:00-20:00 {"after_s":0,"party":"fire_service","system":"fire_alarm","within_s":null} on 19:55 19:56 sealed after 0 s [IFC 2021 901.7]
        "#]],
    );
}

/// UK Joint Code of Practice, 10th edition: work ends 16:00, watched to 17:00, then looks at most 20
/// minutes apart to 18:00: the latest are 17:20, 17:40, 18:00.
#[test]
fn the_joint_code_wants_an_hour_and_then_three_looks() {
    let night = |closed: &str, third: &str| {
        format!(
            "watch: 15:00 to 18:30
             gap hall: 4 h
             source: code UK Joint Code 10th edition
             demand look_back: code UK Joint Code 10th edition
             demand tail_s: code UK Joint Code 10th edition
             15:00 Ines begins
             15:05 Ines reads a permit for hall, watch 60 min, looks 60 min every 20 min
             15:10 Ines notes hot work in hall
             16:00 Ines sees the last spark
             17:20 Ines looks back
             17:40 Ines looks back
             {third} Ines looks back
             {closed} Ines closes the hot work
             18:30 Ines ends and signs"
        )
    };
    check("look_back_missed", &night("18:05", "18:00"), expect![[""]]);
    check(
        "look_back_missed",
        &night("18:05", "18:01"),
        expect![[r#"
            Broken hall 17:40-18:01 {"every_s":1200,"unseen_s":1260} on 17:40 18:01 sealed after 0 s [UK Joint Code 10th edition]
        "#]],
    );
    check(
        "tail_short",
        &night("18:05", "18:00"),
        expect![[r#"
            Kept hall 16:00-18:05 {"closed":true,"kept_s":7500,"owed_s":3600} on 16:00 18:05 sealed after 0 s [UK Joint Code 10th edition]
        "#]],
    );
}

#[test]
fn a_tail_over_midnight_ends_with_the_guard() {
    check(
        "tail_short",
        "watch: 20:00 to 06:00
         gap hall: 10 h
         20:00 Ines begins
         20:05 Ines reads a permit for hall, watch 60 min
         20:10 Ines notes hot work in hall
         23:40 Ines sees the last spark
         00:10 Ines ends and signs
         00:20 Omar begins
         06:00 Omar ends and signs",
        expect![[r#"
            Broken hall 23:40-00:10 {"closed":false,"kept_s":1800,"owed_s":3600} on 23:40 sealed after 0 s [terms]
        "#]],
    );
}

#[test]
fn released_by_the_technician_with_the_tag_still_on() {
    let night = "watch: 20:00 to 22:00
         gap hall: 60 min
         owed release by: authority
         demand restoration: code IFC 2018 901.7.6
         20:00 Ines begins
         20:10 Ines sees hall
         21:00 Ines sees hall
         21:30 the desk restores fire-alarm with tested and fire-service-told and others-told and supervisors-told
         21:40 the desk releases the watch by the technician
         21:45 Ines ends and signs";
    check(
        "released_by_other",
        night,
        expect![[r#"
            Broken 21:40-21:40 {"by":"technician","in_writing":false,"may":["authority"]} on 21:40 sealed after 0 s [terms]
        "#]],
    );
    check(
        "restoration_open",
        night,
        expect![[r#"
            Broken 20:00-21:30 {"open":["tag_removed"],"restored":true,"system":"fire_alarm"} on 19:55 21:30 sealed after 0 s [IFC 2018 901.7.6]
        "#]],
    );
}

/// Cape Coral, Florida: the log is due at 08:00 the next morning, two hours after this watch.
#[test]
fn the_log_is_due_in_the_morning() {
    let night = |sent: &str| {
        format!(
            "watch: 20:00 to 06:00
             gap hall: 10 h
             owed delivery: 2 h
             demand deliver_within_s: code Cape Coral Fire Department, fire watch guideline
             20:00 Ines begins
             05:00 Ines sees hall
             06:00 Ines ends and signs
             {sent}"
        )
    };
    check(
        "delivery_late",
        &night("07:59 the desk sends the report"),
        expect![[r#"
            Kept 06:00-07:59 {"after_s":7140,"failed":0,"within_s":7200} on 07:59 sealed after 0 s [Cape Coral Fire Department, fire watch guideline]
        "#]],
    );
    check(
        "delivery_late",
        &night("08:01 the desk sends the report"),
        expect![[r#"
            Broken 06:00-08:01 {"after_s":7260,"failed":0,"within_s":7200} on 08:01 sealed after 0 s [Cape Coral Fire Department, fire watch guideline]
        "#]],
    );
    check(
        "delivery_late",
        &night("08:30 the desk fails to send the report"),
        expect![[r#"
            Broken 06:00-08:32 {"after_s":null,"failed":1,"within_s":7200} on 08:30 sealed after 0 s [Cape Coral Fire Department, fire watch guideline]
        "#]],
    );
}

/// Ames, Iowa: the form is sent daily; here within two hours, while the watch goes on.
#[test]
fn the_log_of_each_day_is_due_while_the_watch_goes_on() {
    let night = "date: 2026-02-10
        watch: 20:00
        gap hall: 10 h
        owed delivery: 2 h
        20:00 Ines begins
        date: 2026-02-11
        20:30 the desk sends the report
        20:31 Ines sees hall
        date: 2026-02-12
        20:31 Ines sees hall
        23:00 Ines sees hall";
    check(
        "delivery_late",
        night,
        expect![[r#"
            Broken 20:00-23:02 {"after_s":null,"day":2,"failed":0,"within_s":7200} on no line sealed after … [terms]
            Kept 20:00-20:30 {"after_s":1800,"day":1,"failed":0,"within_s":7200} on 20:30 sealed after 0 s [terms]
        "#]],
    );
}

/// Two people press one after the other: half a minute is looked at, a whole one is a post left.
#[test]
fn a_relief_pressed_half_a_minute_late_is_looked_at() {
    let night = |begins: &str| {
        format!(
            "watch: 20:00 to 22:00
             gap hall: 60 min
             owed relief: yes
             20:00 Ines begins
             20:10 Ines sees hall
             21:00:00 Ines ends and signs
             {begins} Omar begins
             21:09 Omar sees hall
             22:00 Omar ends and signs"
        )
    };
    check(
        "relief_missing",
        &night("21:00:30"),
        expect![[r#"
            Look 21:00-21:00 {"next":"p-omar","nobody_s":30,"who":"p-ines"} on 21:00 21:00 sealed after 0 s [terms]
        "#]],
    );
    check(
        "relief_missing",
        &night("21:01:00"),
        expect![[r#"
            Broken 21:00-21:01 {"next":"p-omar","nobody_s":60,"who":"p-ines"} on 21:00 21:01 sealed after 0 s [terms]
        "#]],
    );
}

#[test]
fn leaving_before_the_next_is_there() {
    check(
        "relief_missing",
        "watch: 20:00 to 23:00
         gap hall: 60 min
         owed relief: yes
         20:00 Ines begins
         20:10 Ines sees hall
         21:00 Ines ends and signs
         21:20 Omar begins
         21:30 Omar sees hall
         22:00 Ana relieves Omar
         22:01 Omar ends and signs
         22:20 Ana sees hall
         23:00 Ana ends and signs",
        expect![[r#"
            Broken 21:00-21:20 {"next":"p-omar","nobody_s":1200,"who":"p-ines"} on 21:00 21:20 sealed after 0 s [terms]
        "#]],
    );
}

/// Each content has its own source.
#[test]
fn each_content_with_its_source() {
    check(
        "content_missing",
        "watch: 20:00 to 21:00
         gap hall: 60 min
         owed instructions: yes
         owed review: yes
         demand instructions_read: client Post orders 7
         demand review: house Manual 3
         20:00 Ines begins
         20:10 Ines sees hall
         21:00 Ines ends without signing",
        expect![[r#"
            Broken 20:00-21:00 {"what":"review","who":null} on no line sealed after … [Manual 3]
            Broken 20:00-21:00 {"what":"instructions_read","who":"p-ines"} on 20:00 21:00 sealed after 0 s [Post orders 7]
        "#]],
    );
}

/// The client's signature is no review by the house; somebody of the house must read it.
#[test]
fn the_client_reads_for_nobody_else() {
    let night = |review: &str| {
        format!(
            "watch: 20:00 to 21:00
             gap hall: 60 min
             owed review: yes
             20:00 Ines begins
             20:10 Ines sees hall
             21:00 Ines ends and signs
             21:10 the desk countersigns the watch
             21:20 {review}"
        )
    };
    check(
        "content_missing",
        &night("the desk notes: Filed"),
        expect![[r#"
        Broken 20:00-21:00 {"what":"review","who":null} on no line sealed after … [terms]
    "#]],
    );
    check("content_missing", &night("the desk reviews the watch"), expect![[""]]);
}

/// While the watch goes on there is time for the review and for the structures.
#[test]
fn what_is_owed_at_the_end_is_not_owed_before() {
    check(
        "content_missing",
        "watch: 20:00
         gap hall: 60 min
         owed review: yes
         owed structures: yes
         20:00 Ines begins
         20:10 Ines sees hall",
        expect![[""]],
    );
}

/// A shift that nobody ended is unsigned at the release.
#[test]
fn a_shift_left_open_at_the_release_is_unsigned() {
    check(
        "content_missing",
        "watch: 20:00
         gap hall: 60 min
         owed signature: yes
         20:00 Ines begins
         20:10 Ines sees hall
         20:40 the desk releases the watch by authority in writing",
        expect![[r#"
            Broken 20:00-20:40 {"what":"signature","who":"p-ines"} on 20:00 sealed after 0 s [terms]
        "#]],
    );
}

/// Days after the end of the watch owe no reports.
#[test]
fn no_report_is_owed_of_days_after_the_end() {
    check(
        "delivery_late",
        "date: 2026-02-10
         watch: 20:00 to 06:00
         gap hall: 10 h
         owed delivery: 2 h
         20:00 Ines begins
         date: 2026-02-11
         05:00 Ines sees hall
         06:00 Ines ends and signs
         07:00 the desk sends the report
         date: 2026-02-13
         07:00 the desk notes: Filed",
        expect![[r#"
            Kept 06:00-07:00 {"after_s":3600,"failed":0,"within_s":7200} on 07:00 sealed after 0 s [terms]
        "#]],
    );
}

/// A watch of exactly a day owes the report on its end, not one on its day as well.
#[test]
fn a_watch_of_a_day_owes_one_report() {
    check(
        "delivery_late",
        "date: 2026-02-10
         watch: 20:00
         gap hall: 40 h
         owed delivery: 2 h
         20:00 Ines begins
         date: 2026-02-11
         20:00 the desk releases the watch by authority in writing
         20:30 the desk sends the report",
        expect![[r#"
            Kept 20:00-20:30 {"after_s":1800,"failed":0,"within_s":7200} on 20:30 sealed after 0 s [terms]
        "#]],
    );
}

//! What a phone that is not heard may still hold, and until when it is waited for.

use super::{check, judged};
use crate::findings::{Judging, Verdict, judge};
use expect_test::expect;

/// The phone told of 20:45 and fell silent: at 20:40, when the hall was due, nothing was missing from it.
#[test]
fn a_phone_that_told_of_the_instant_in_question_is_waited_for_no_longer() {
    check(
        "unseen_gap",
        "watch: 20:00
         people: Ines, Omar
         gap hall: 30 min
         gap attic: 4 h
         phone of Ines: offline 20:46 to never
         20:00 Ines begins
         20:00 Omar begins
         20:10 Ines sees hall
         20:45 Ines sees attic
         21:00 Omar sees hall",
        expect![[r#"
            Broken hall 20:10-21:00 {"allowed_s":1800,"by_hand":false,"open":false,"over_s":1200,"stopped_s":0,"unseen_s":3000,"why":null} on 20:10 21:00 sealed after 0 s [house rule]
            Kept attic 20:00-20:45 {"allowed_s":14400,"by_hand":false,"open":false,"over_s":-11700,"stopped_s":0,"unseen_s":2700,"why":null} on 20:45 sealed after 0 s [house rule]
        "#]],
    );
}

/// The same for a look back that was due at 17:20.
#[test]
fn a_look_back_due_before_the_silence_is_missed() {
    check(
        "look_back_missed",
        "watch: 15:00
         people: Ines, Omar
         gap hall: 6 h
         gap attic: 6 h
         phone of Ines: offline 17:31 to never
         15:00 Ines begins
         15:00 Omar begins
         15:05 Ines reads a permit for hall, watch 60 min, looks 60 min every 20 min
         15:10 Ines notes hot work in hall
         16:00 Ines sees the last spark
         17:30 Ines sees attic
         17:40 Omar sees attic",
        expect![[r#"
            Broken hall 17:00-17:42 {"every_s":1200,"unseen_s":2520} on 16:00 sealed after 0 s [terms]
        "#]],
    );
}

/// Of two silent phones the one that has told least says since when.
#[test]
fn of_two_silent_phones_the_older_word_counts() {
    check(
        "unseen_gap",
        "watch: 20:00
         people: Ines, Omar
         gap hall: 30 min
         gap attic: 4 h
         phone of Ines: offline 20:15 to never
         phone of Omar: offline 20:25 to never
         20:00 Ines begins
         20:00 Omar begins
         20:10 Ines sees hall
         20:20 Omar sees attic
         21:00 the desk notes: No answer",
        expect![[r#"
            Unclear hall 20:10-21:02 {"allowed_s":1800,"by_hand":false,"open":true,"over_s":1320,"stopped_s":0,"unseen_s":3120,"why":{"not_heard":{"since_ms":1770754200000}}} on 20:10 sealed after 0 s [house rule]
            Kept attic 20:00-20:20 {"allowed_s":14400,"by_hand":false,"open":false,"over_s":-13200,"stopped_s":0,"unseen_s":1200,"why":null} on 20:20 sealed after 0 s [house rule]
        "#]],
    );
}

/// Once the watch is over nobody waits for a phone: what is missing is missing.
#[test]
fn after_the_release_no_phone_is_waited_for() {
    check(
        "unseen_gap",
        "watch: 20:00
         people: Ines, Omar
         gap hall: 30 min
         phone of Ines: offline 20:15 to never
         20:00 Ines begins
         20:00 Omar begins
         20:10 Ines sees hall
         21:00 Omar sees hall
         21:10 the desk releases the watch by authority in writing",
        expect![[r#"
            Broken hall 20:10-21:00 {"allowed_s":1800,"by_hand":false,"open":false,"over_s":1200,"stopped_s":0,"unseen_s":3000,"why":null} on 20:10 21:00 sealed after 0 s [house rule]
        "#]],
    );
}

/// The watch goes on past its planned end while a tail lasts, and before it though nothing is due: no review is missing yet.
#[test]
fn a_watch_is_over_when_its_time_is_and_nothing_is_due() {
    let night = |head: &str, last: &str| {
        format!(
            "{head}
             owed review: yes
             15:00 Ines begins
             15:05 Ines reads a permit for hall, watch 60 min
             15:10 Ines notes hot work in hall
             16:00 Ines sees the last spark
             {last}"
        )
    };
    let tail = night("watch: 15:00 to 16:30\ngap hall: 4 h", "16:40 Ines notes: All quiet");
    check("content_missing", &tail, expect![[""]]);
    let over = night(
        "watch: 15:00 to 16:30\ngap hall: 4 h",
        "17:05 Ines closes the hot work\n17:06 Ines ends and signs",
    );
    check(
        "content_missing",
        &over,
        expect![[r#"
        Broken 15:00-16:30 {"what":"review","who":null} on no line sealed after … [terms]
    "#]],
    );
    let early = "watch: 20:00 to 23:00
         owed review: yes
         20:00 Ines begins
         20:10 Ines notes: All quiet";
    check("content_missing", early, expect![[""]]);
}

/// A look of a phone set back at 20:10 that was sealed by 20:27 lies in no gap that began later: those are broken for certain.
#[test]
fn a_look_with_a_false_time_excuses_only_the_gap_in_which_it_may_lie() {
    let night = |offline: &str, back: &str, look: &str| {
        format!(
            "watch: 20:00 to 22:30
             people: Ines, Omar
             gap stair-b: 15 min
             phone of Ines: offline {offline}
             20:00 Omar begins
             20:00 Ines begins
             20:04 Omar sees stair-b
             {back} the phone of Ines is set back 120 min
             {look} Ines sees stair-b
             20:30 Omar sees stair-b
             21:00 Omar sees stair-b
             22:29 Omar sees stair-b
             22:30 Omar ends and signs
             22:30 Ines ends and signs"
        )
    };
    check(
        "unseen_gap",
        &night("20:05 to 20:25", "20:10", "20:20"),
        expect![[r#"
        Broken stair-b 20:30-21:00 {"allowed_s":900,"by_hand":false,"open":false,"over_s":900,"stopped_s":0,"unseen_s":1800,"why":null} on 20:30 21:00 sealed after 0 s [house rule]
        Broken stair-b 21:00-22:29 {"allowed_s":900,"by_hand":false,"open":false,"over_s":4440,"stopped_s":0,"unseen_s":5340,"why":null} on 21:00 22:29 sealed after 0 s [house rule]
        Unclear stair-b 20:04-20:30 {"allowed_s":900,"by_hand":false,"open":false,"over_s":660,"stopped_s":0,"unseen_s":1560,"why":{"clock":{"offset_moved":{"by_ms":7200000}}}} on 20:04 20:30 sealed after 0 s [house rule]
    "#]],
    );
}

/// What all kept gaps rest on was sealed when the last of it was; a gap that is still open is none of them.
#[test]
fn a_kept_zone_tells_its_longest_closed_gap_and_its_latest_seal() {
    check(
        "unseen_gap",
        "watch: 20:00
         gap hall: 30 min
         phone of Ines: offline 20:11 to 20:30
         20:00 Ines begins
         20:10 Ines sees hall
         20:20 Ines sees hall
         20:35 Ines sees hall
         20:58 Ines notes: All quiet",
        expect![[r#"
            Kept hall 20:20-20:35 {"allowed_s":1800,"by_hand":false,"open":false,"over_s":-900,"stopped_s":0,"unseen_s":900,"why":null} on 20:20 20:35 sealed after 600 s [house rule]
        "#]],
    );
}

/// Without the document of the terms nothing is owed by it: no relief, no notice, no delivery, no signature.
#[test]
fn without_the_document_nothing_of_it_is_broken() {
    let record = night::tell(
        "watch: 20:00 to 23:00
         gap hall: 4 h
         owed relief: yes
         owed signature: yes
         owed delivery: 1 h
         owed notice: insurer within 1 h
         20:00 Ines begins
         21:00 Ines ends without signing
         21:30 Omar begins
         21:40 Omar finds exits in hall: Door chained
         23:00 Omar ends without signing
         23:30 the desk releases the watch by technician",
    )
    .unwrap();
    let watch = record.folded();
    let state = watch.about(record.end_ms);
    let rules = |terms| {
        let findings = judge(&Judging { watch: &watch, state: &state, terms });
        let broken = findings.iter().filter(|finding| finding.verdict == Verdict::Broken);
        broken.map(super::Finding::rule).collect::<Vec<&str>>()
    };
    expect![[r#"
        [
            "notice_owed",
            "content_missing",
            "cover_gap",
            "relief_missing",
            "content_missing",
            "observation_open_at_release",
            "observation_without_action",
            "cover_gap",
            "relief_missing",
        ]
    "#]]
    .assert_debug_eq(&rules(Some(&record.terms)));
    expect![[r#"
        [
            "cover_gap",
            "observation_open_at_release",
            "observation_without_action",
            "cover_gap",
        ]
    "#]]
    .assert_debug_eq(&rules(None));
}

/// Of two demands with one number the one for the zone is cited, else the first.
#[test]
fn a_gap_cites_the_demand_for_its_zone() {
    let mut record = night::tell(
        "watch: 20:00 to 21:00
         gap hall: 15 min
         gap attic: 15 min
         20:00 Ines begins
         20:30 Ines sees hall
         20:30 Ines sees attic
         21:00 Ines ends and signs",
    )
    .unwrap();
    let general = record.terms.demands.iter().find(|demand| demand.gap_s == Some(900));
    let general = general.expect("the night states a gap").clone();
    let demand = |of: &str, source: &str, gap_s| record::documents::Demand {
        of: of.to_owned(),
        source: source.to_owned(),
        gap_s,
        ..general.clone()
    };
    record.terms.demands = vec![
        demand("hall", "Hall, another number", Some(600)),
        demand("everything", "Everything", Some(900)),
        demand("hall", "Hall", Some(900)),
        demand("loft", "Loft", Some(900)),
    ];
    let watch = record.folded();
    let state = watch.about(record.end_ms);
    let findings = judge(&Judging { watch: &watch, state: &state, terms: Some(&record.terms) });
    let cited: Vec<String> = findings
        .iter()
        .filter(|finding| finding.rule() == "unseen_gap")
        .map(|finding| match &finding.source {
            super::Source::Demand { title, .. } => {
                format!("{} {title}", finding.zone.as_ref().map_or("", |zone| zone.as_str()))
            }
            other => format!("{other:?}"),
        })
        .collect();
    expect![[r#"
        [
            "attic Everything",
            "hall Hall",
            "attic Everything",
            "hall Hall",
        ]
    "#]]
    .assert_debug_eq(&cited);
}

/// A line that somebody withheld leaves a round with fewer looks than its phone counted.
#[test]
fn a_round_with_fewer_looks_than_were_counted() {
    let night = "watch: 20:00 to 21:00
         gap hall: 60 min
         gap attic: 60 min
         20:00 Ines begins
         20:05 Ines begins a round
         20:10 Ines sees hall
         20:20 Ines sees attic
         20:20 Ines ends the round
         21:00 Ines ends and signs";
    let silent = |withheld: Option<u64>| {
        let mut record = night::tell(night).unwrap();
        let phone = record.keys[1].device();
        record.lines.retain(|line| line.line.dev != phone || Some(line.line.seq) != withheld);
        let watch = record.folded();
        let state = watch.about(record.end_ms);
        let findings = judge(&Judging { watch: &watch, state: &state, terms: Some(&record.terms) });
        let of = findings.into_iter().filter(|finding| finding.rule() == "silent_round");
        of.map(|finding| serde_json::to_string(&finding.facts).unwrap()).collect::<Vec<String>>()
    };
    assert!(silent(None).is_empty());
    expect![[r#"
        [
            "{\"rule\":\"silent_round\",\"facts\":{\"who\":\"p-ines\",\"round\":1,\"looks\":1,\"stated\":2,\"all_clear\":true}}",
        ]
    "#]].assert_debug_eq(&silent(Some(2)));
    let (_, findings) = judged(night);
    assert!(findings.iter().all(|finding| finding.rule() != "silent_round"));
}

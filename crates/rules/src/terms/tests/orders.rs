//! The strictest wins, only the authority loosens, and what gave way is shown. No outside source: these are our own laws.

use super::*;
use expect_test::expect;

fn hotel(orders: &str) -> String {
    format!(
        "profile = \"Ames, Iowa\"\nzone = \"America/Chicago\"\nat = \"2026-03-02T04:00:00\"\n[building]\noccupancy = \"R-1\"\nsleeping = true\n[[outage]]\nsystem = \"fire-alarm\"\nfrom = \"2026-03-01T22:00:00\"\n{orders}"
    )
}

fn gaps(orders: &str, expected: Expect) {
    let told: String = told(&hotel(orders))
        .lines()
        .filter(|line| {
            line.starts_with("yes")
                || line.starts_with("authority")
                || line.starts_with("none")
                || line.starts_with("gap")
                || line.starts_with("gave")
        })
        .map(|line| format!("{line}\n"))
        .collect();
    expected.assert_eq(&told);
}

const REYES: &str =
    "[[order]]\nfrom = \"authority\"\nby = \"M. Reyes\"\nat = \"2026-03-01T23:00\"\n";

#[test]
fn the_authority_loosens_by_name_and_time() {
    gaps(
        &format!("{REYES}gap_s = 1800"),
        expect![[r#"
            yes since 2026-03-02 02:00:00-06:00
            gap all 1800 s [authority: M. Reyes]
            gave way: Gap Seconds(900) [code: Ames, Iowa frequency of patrols] Authority
        "#]],
    );
}

#[test]
fn an_order_without_a_name_or_a_time_does_not_loosen() {
    gaps(
        "[[order]]\nfrom = \"authority\"\nat = \"2026-03-01T23:00\"\ngap_s = 1800",
        expect![[r#"
            yes since 2026-03-02 02:00:00-06:00
            gap all 900 s [code: Ames, Iowa frequency of patrols]
            gave way: Gap Seconds(1800) [authority:] NeedsNameAndTime
        "#]],
    );
    gaps(
        "[[order]]\nfrom = \"authority\"\nby = \"M. Reyes\"\ngap_s = 1800",
        expect![[r#"
        yes since 2026-03-02 02:00:00-06:00
        gap all 900 s [code: Ames, Iowa frequency of patrols]
        gave way: Gap Seconds(1800) [authority: M. Reyes] NeedsNameAndTime
    "#]],
    );
}

#[test]
fn an_order_without_a_name_still_tightens() {
    gaps(
        "[[order]]\nfrom = \"authority\"\ngap_s = 600",
        expect![[r#"
        yes since 2026-03-02 02:00:00-06:00
        gap all 600 s [authority:]
        gave way: Gap Seconds(900) [code: Ames, Iowa frequency of patrols] Authority
    "#]],
    );
}

#[test]
fn client_contract_and_house_only_tighten() {
    gaps(
        "[[order]]\nfrom = \"client\"\ngap_s = 1800",
        expect![[r#"
        yes since 2026-03-02 02:00:00-06:00
        gap all 900 s [code: Ames, Iowa frequency of patrols]
        gave way: Gap Seconds(1800) [client:] OnlyTheAuthorityLoosens
    "#]],
    );
    gaps(
        "[[order]]\nfrom = \"house\"\ngap_s = 600",
        expect![[r#"
        yes since 2026-03-02 02:00:00-06:00
        gap all 600 s [house:]
        gave way: Gap Seconds(900) [code: Ames, Iowa frequency of patrols] Stricter
    "#]],
    );
    gaps(
        &format!(
            "{REYES}gap_s = 3600\n[[order]]\nfrom = \"contract\"\ngap_s = 1800\n[[order]]\nfrom = \"client\"\ngap_s = 7200"
        ),
        expect![[r#"
            yes since 2026-03-02 02:00:00-06:00
            gap all 1800 s [contract:]
            gave way: Gap Seconds(900) [code: Ames, Iowa frequency of patrols] Authority
            gave way: Gap Seconds(3600) [authority: M. Reyes] Stricter
            gave way: Gap Seconds(7200) [client:] OnlyTheAuthorityLoosens
        "#]],
    );
}

#[test]
fn the_later_order_holds_and_one_to_come_does_not() {
    let earlier = "[[order]]\nfrom = \"authority\"\nby = \"J. Okafor\"\nat = \"2026-03-01T22:30\"\ngap_s = 600\n";
    let to_come = "\n[[order]]\nfrom = \"authority\"\nby = \"J. Okafor\"\nat = \"2026-03-02T05:00\"\ngap_s = 60\n";
    gaps(
        &format!("{REYES}gap_s = 1800\n{earlier}{to_come}"),
        expect![[r#"
            yes since 2026-03-02 02:00:00-06:00
            gap all 1800 s [authority: M. Reyes]
            gave way: Gap Seconds(600) [authority: J. Okafor] LaterOrder
            gave way: Gap Seconds(900) [code: Ames, Iowa frequency of patrols] Authority
        "#]],
    );
}

#[test]
fn an_order_for_one_kind_of_zone_leaves_the_others() {
    gaps(
        &format!("{REYES}for = \"structure\"\ngap_s = 3600"),
        expect![[r#"
            yes since 2026-03-02 02:00:00-06:00
            gap all 900 s [code: Ames, Iowa frequency of patrols]
            gap structure 3600 s [authority: M. Reyes]
            gave way: Gap Seconds(900) [code: Ames, Iowa frequency of patrols] Authority
        "#]],
    );
    gaps(
        "[[order]]\nfrom = \"client\"\nfor = \"sleeping\"\ngap_s = 300",
        expect![[r#"
        yes since 2026-03-02 02:00:00-06:00
        gap all 900 s [code: Ames, Iowa frequency of patrols]
        gap sleeping 300 s [client:]
        gave way: Gap Seconds(900) [code: Ames, Iowa frequency of patrols] Stricter
    "#]],
    );
}

#[test]
fn only_the_authority_releases() {
    gaps(
        &format!("{REYES}released = \"2026-03-02T03:00\""),
        expect![[r#"
        none_found
        gap all 900 s [code: Ames, Iowa frequency of patrols]
        gave way: Required Flag(true) [code: Ames, Iowa when a watch is required] Authority
    "#]],
    );
    gaps(
        "[[order]]\nfrom = \"client\"\nby = \"P. Lund\"\nat = \"2026-03-02T03:00\"\nreleased = \"2026-03-02T03:00\"",
        expect![[r#"
            yes since 2026-03-02 02:00:00-06:00
            gap all 900 s [code: Ames, Iowa frequency of patrols]
            gave way: Required Flag(false) [client: P. Lund] OnlyTheAuthorityLoosens
        "#]],
    );
    gaps(
        &format!("{REYES}watch = false"),
        expect![[r#"
            none_found
            gap all 900 s [code: Ames, Iowa frequency of patrols]
            gave way: Required Flag(true) [code: Ames, Iowa when a watch is required] Authority
        "#]],
    );
    gaps(
        "[[order]]\nfrom = \"authority\"\nwatch = false",
        expect![[r#"
        yes since 2026-03-02 02:00:00-06:00
        gap all 900 s [code: Ames, Iowa frequency of patrols]
        gave way: Required Flag(false) [authority:] NeedsNameAndTime
    "#]],
    );
}

/// A watch released at 23:00 does not cover an outage by which one is owed from 02:00.
#[test]
fn a_release_ends_only_what_stood() {
    gaps(
        &format!("{REYES}released = \"2026-03-01T23:00\""),
        expect![[r#"
        yes since 2026-03-02 02:00:00-06:00
        gap all 900 s [code: Ames, Iowa frequency of patrols]
    "#]],
    );
}

/// The authority settles what 29 CFR 1926.352(e) leaves open, and may shorten what another code asks.
#[test]
fn an_order_settles_the_tail() {
    let facts = |profile: &str| {
        format!("profile = \"{profile}\"\nzone = \"America/Chicago\"\nat = \"2026-03-01T16:10\"\n[[hot_work]]\nlast_spark = \"2026-03-01T16:00\"\n{REYES}watch_until = \"2026-03-01T17:00\"\nchecks_every_s = 900\nchecks_until = \"2026-03-01T18:00\"").replace("23:00", "15:00")
    };
    check(
        &facts("29 CFR 1926"),
        expect![[r#"
        yes since 2026-03-01 15:00:00-06:00
        watch until 2026-03-01 17:00:00-06:00
        checks every 900 s until 2026-03-01 18:00:00-06:00: 17:15 17:30 17:45 18:00
    "#]],
    );
    check(
        &facts("29 CFR 1910"),
        expect![[r#"
            yes since 2026-03-01 16:00:00-06:00 until 2026-03-01 18:00:00-06:00
            watch until 2026-03-01 17:00:00-06:00
            checks every 900 s until 2026-03-01 18:00:00-06:00: 17:15 17:30 17:45 18:00
            gave way: WatchUntil At(2026-03-01T22:30:00Z) [code: 29 CFR 1910 (a)(2)(iii)(B)] Authority
        "#]],
    );
}

/// What a client orders is owed to the client, where no code decides.
#[test]
fn a_clients_watch_is_owed_to_the_client() {
    let facts = "profile = \"NFPA 101 2012\"\nzone = \"America/Chicago\"\nat = \"2026-03-02T04:00\"\n[[order]]\nfrom = \"client\"\nby = \"P. Lund\"\nat = \"2026-03-01T20:00\"\ngap_s = 1800\npeople_at_least = 2\non = \"both\"\ndeliver = \"06:00\"\nretain_s = 86400";
    check(
        facts,
        expect![[r#"
        yes since 2026-03-01 20:00:00-06:00
        gap all 1800 s [client: P. Lund]
        people 2 [client: P. Lund]
        retain 86400 [client: P. Lund]
        deliver Daily next 2026-03-02 06:00:00-06:00
    "#]],
    );
}

/// A waiver of the authority spares what had begun when it was given, not what begins later.
#[test]
fn a_waiver_covers_what_had_begun() {
    gaps(
        &format!(
            "{REYES}watch = false\n[[outage]]\nsystem = \"fire-alarm\"\nfrom = \"2026-03-01T23:30\""
        ),
        expect![[r#"
            none_found
            gap all 900 s [code: Ames, Iowa frequency of patrols]
            gave way: Required Flag(true) [code: Ames, Iowa when a watch is required] Authority
        "#]],
    );
    gaps(
        &format!(
            "{REYES}watch = false\n[[outage]]\nsystem = \"smoke-control\"\nfrom = \"2026-03-01T23:30\""
        ),
        expect![[r#"
            authority
            gap all 900 s [code: Ames, Iowa frequency of patrols]
            gave way: Required Flag(true) [code: Ames, Iowa when a watch is required] Authority
        "#]],
    );
    gaps(
        &format!("{REYES}watch = false\n").replace("T23:00", "T21:00"),
        expect![[r#"
        yes since 2026-03-02 02:00:00-06:00
        gap all 900 s [code: Ames, Iowa frequency of patrols]
    "#]],
    );
}

#[test]
fn an_order_that_ceased_is_told_and_does_nothing() {
    let facts = hotel(&format!("{REYES}until = \"2026-03-02T01:00\"\ngap_s = 3600"));
    expect![[r#"
        yes since 2026-03-02 02:00:00-06:00
        gap all 900 s [code: Ames, Iowa frequency of patrols]
        write record
        deliver Daily
        because Out of service, fire alarm: 6 h within 24 h, more than 4 h. A watch is owed since 2026-03-02 02:00 -06:00.
        because An order is not in force at this time.
    "#]].assert_eq(&told_with_reasons(&facts));
}

/// An order of the authority that sets any one of how a watch is kept orders the watch; one that only wants somebody
/// told does not.
#[test]
fn each_way_of_setting_how_a_watch_is_kept_orders_one() {
    let first = |set: &str| {
        let facts = format!(
            "profile = \"NFPA 101 2012\"\nzone = \"America/Chicago\"\nat = \"2026-03-02T04:00:00\"\n{REYES}{set}"
        );
        told(&facts).lines().next().unwrap_or_default().to_owned()
    };
    for set in [
        "gap_s = 1800",
        "people_at_least = 2",
        "first_round_s = 600",
        "watch_until = \"2026-03-02T06:00\"",
        "checks_every_s = 900",
    ] {
        assert_eq!(first(set), "yes since 2026-03-01 23:00:00-06:00", "{set}");
    }
    assert_eq!(first("notify = [\"insurer\"]"), "none_found");
}

/// In force from the instant it is given, and no longer at the instant it ceases.
#[test]
fn an_order_holds_from_its_first_instant_to_before_its_last() {
    let gap = |times: &str| {
        let order = format!("[[order]]\nfrom = \"client\"\nby = \"P. Lund\"\ngap_s = 600\n{times}");
        let told = told(&hotel(&order));
        told.lines().find(|line| line.starts_with("gap")).unwrap_or_default().to_owned()
    };
    assert!(gap("at = \"2026-03-02T04:00:00\"").starts_with("gap all 600 s"));
    assert!(gap("at = \"2026-03-02T04:00:01\"").starts_with("gap all 900 s"));
    let ceases = |until: &str| gap(&format!("at = \"2026-03-01T23:00:00\"\nuntil = \"{until}\""));
    assert!(ceases("2026-03-02T04:00:00").starts_with("gap all 900 s"));
    assert!(ceases("2026-03-02T04:00:01").starts_with("gap all 600 s"));
}

/// A release holds at its own instant; what came back broken a second later is owed anew.
#[test]
fn a_release_holds_from_its_own_instant() {
    let required = |released: &str| {
        let told = told(&hotel(&format!("{REYES}released = \"{released}\"")));
        told.lines().next().unwrap_or_default().to_owned()
    };
    assert_eq!(required("2026-03-02T04:00:00"), "none_found");
    assert_eq!(required("2026-03-02T04:00:01"), "yes since 2026-03-02 02:00:00-06:00");
}

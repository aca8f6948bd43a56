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

/// A later order that may not loosen takes nothing away from the one before it.
#[test]
fn an_order_that_may_not_loosen_leaves_the_earlier_one() {
    let earlier = format!("{REYES}gap_s = 600\n[[order]]\nfrom = \"authority\"\n");
    gaps(
        &format!("{earlier}at = \"2026-03-02T02:00\"\ngap_s = 3600"),
        expect![[r#"
            yes since 2026-03-02 02:00:00-06:00
            gap all 600 s [authority: M. Reyes]
            gave way: Gap Seconds(3600) [authority:] NeedsNameAndTime
            gave way: Gap Seconds(900) [code: Ames, Iowa frequency of patrols] Authority
        "#]],
    );
    // Of two without a time nobody knows which is later: the stricter holds, whichever is written first.
    for order in [
        "600\n[[order]]\nfrom = \"authority\"\ngap_s = 700",
        "700\n[[order]]\nfrom = \"authority\"\ngap_s = 600",
    ] {
        let told = told(&hotel(&format!("[[order]]\nfrom = \"authority\"\ngap_s = {order}")));
        assert!(told.contains("gap all 600 s"), "{told}");
    }
}

/// What was ordered for places where people sleep is not loosened by a later order for the whole building.
#[test]
fn an_order_for_every_zone_does_not_loosen_one_for_a_kind() {
    let sleeping = format!("{REYES}for = \"sleeping\"\ngap_s = 600\n");
    let later = |gap_s: u32| {
        format!("{sleeping}{REYES}gap_s = {gap_s}").replacen("23:00\"\ngap_s", "23:30\"\ngap_s", 1)
    };
    gaps(
        &later(1800),
        expect![[r#"
            yes since 2026-03-02 02:00:00-06:00
            gap all 1800 s [authority: M. Reyes]
            gap sleeping 600 s [authority: M. Reyes]
            gave way: Gap Seconds(900) [code: Ames, Iowa frequency of patrols] Authority
            gave way: Gap Seconds(1800) [authority: M. Reyes] Stricter
        "#]],
    );
    assert!(told(&hotel(&later(300))).contains("gap all 300 s"));
    assert!(!told(&hotel(&later(300))).contains("gap sleeping"));
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

/// An order for sleeping zones stands beside a later one for every zone, unless that asks for more: whoever wrote the closer
/// one meant these zones, and nobody sleeps longer unseen because a general order came after.
#[test]
fn the_closer_order_stands_unless_a_later_one_asks_for_more() {
    let own = format!("{REYES}for = \"sleeping\"\ngap_s = 600\n");
    let general = |at: &str, gap_s: u32| {
        format!(
            "[[order]]\nfrom = \"authority\"\nby = \"J. Okafor\"\nat = \"{at}\"\ngap_s = {gap_s}\n"
        )
    };
    gaps(
        &(own.clone() + &general("2026-03-02T01:00", 1800)),
        expect![[r#"
            yes since 2026-03-02 02:00:00-06:00
            gap all 1800 s [authority: J. Okafor]
            gap sleeping 600 s [authority: M. Reyes]
            gave way: Gap Seconds(900) [code: Ames, Iowa frequency of patrols] Authority
            gave way: Gap Seconds(1800) [authority: J. Okafor] Stricter
        "#]],
    );
    gaps(
        &(general("2026-03-01T22:00", 1800) + &own),
        expect![[r#"
            yes since 2026-03-02 02:00:00-06:00
            gap all 1800 s [authority: J. Okafor]
            gap sleeping 600 s [authority: M. Reyes]
            gave way: Gap Seconds(900) [code: Ames, Iowa frequency of patrols] Authority
            gave way: Gap Seconds(1800) [authority: J. Okafor] LaterOrder
        "#]],
    );
    gaps(
        &(own.clone() + &general("2026-03-02T01:00", 300)),
        expect![[r#"
            yes since 2026-03-02 02:00:00-06:00
            gap all 300 s [authority: J. Okafor]
            gave way: Gap Seconds(900) [code: Ames, Iowa frequency of patrols] Authority
            gave way: Gap Seconds(600) [authority: M. Reyes] LaterOrder
        "#]],
    );
    // An earlier general one that asks for more gave way to the closer one.
    gaps(
        &(general("2026-03-01T22:00", 300) + &own),
        expect![[r#"
            yes since 2026-03-02 02:00:00-06:00
            gap all 300 s [authority: J. Okafor]
            gap sleeping 600 s [authority: M. Reyes]
            gave way: Gap Seconds(900) [code: Ames, Iowa frequency of patrols] Authority
            gave way: Gap Seconds(300) [authority: J. Okafor] LaterOrder
        "#]],
    );
}

/// What is said of every zone holds for each kind that has an order of its own; a kind whose gap comes to the same is not told.
#[test]
fn a_kind_of_zone_is_told_where_its_gap_differs() {
    let client = |kind: &str, gap_s: u32| {
        format!("[[order]]\nfrom = \"client\"\nfor = \"{kind}\"\ngap_s = {gap_s}\n")
    };
    let orders = client("structure", 3600) + &client("site", 300) + &client("sleeping", 600);
    gaps(
        &(format!("{REYES}gap_s = 1800\n") + &orders),
        expect![[r#"
            yes since 2026-03-02 02:00:00-06:00
            gap all 1800 s [authority: M. Reyes]
            gap sleeping 600 s [client:]
            gap site 300 s [client:]
            gave way: Gap Seconds(900) [code: Ames, Iowa frequency of patrols] Authority
            gave way: Gap Seconds(1800) [authority: M. Reyes] Stricter
            gave way: Gap Seconds(3600) [client:] OnlyTheAuthorityLoosens
        "#]],
    );
}

/// The same facts with their orders written in another sequence are the same terms.
#[test]
fn the_sequence_in_which_orders_are_written_says_nothing() {
    let orders = [
        format!("{REYES}released = \"2026-03-01T23:00\"\n"),
        "[[order]]\nfrom = \"authority\"\nby = \"J. Okafor\"\nwatch = true\n".to_owned(),
        "[[order]]\nfrom = \"authority\"\nby = \"J. Okafor\"\nat = \"2026-03-02T01:00\"\ngap_s = 1200\n".to_owned(),
    ];
    let [a, b, c] = &orders;
    let first = told(&hotel(&format!("{a}{b}{c}")));
    for (x, y, z) in [(a, c, b), (b, a, c), (b, c, a), (c, a, b), (c, b, a)] {
        assert_eq!(told(&hotel(&format!("{x}{y}{z}"))), first, "{x}{y}{z}");
    }
}

/// No code states a gap: what the authority asks for holds, named or not, and loosens nothing.
#[test]
fn without_a_number_in_the_code_any_order_of_the_authority_holds() {
    let facts = "profile = \"IFC 2018\"\nzone = \"America/Chicago\"\nat = \"2026-03-02T04:00\"\n[[order]]\nfrom = \"authority\"\ngap_s = 1800";
    check(
        facts,
        expect![[r#"
            yes
            gap all 1800 s [authority:]
        "#]],
    );
}

/// An order that asks for what the code asks for is in force, and nothing gave way to it.
#[test]
fn an_order_that_repeats_the_code_displaces_nothing() {
    gaps(
        &format!("{REYES}gap_s = 900"),
        expect![[r#"
            yes since 2026-03-02 02:00:00-06:00
            gap all 900 s [authority: M. Reyes]
        "#]],
    );
}

/// Two terms of one order with the same number are two, and people are told as people.
#[test]
fn each_term_of_an_order_that_gives_way_is_shown() {
    let facts = "profile = \"Wood Buffalo, Alberta\"\nzone = \"America/Edmonton\"\nat = \"2026-03-02T04:00\"\n[[outage]]\nsystem = \"fire-alarm\"\nfrom = \"2026-03-02T03:00\"\n[[order]]\nfrom = \"authority\"\npeople_at_least = 2\n[[order]]\nfrom = \"client\"\nby = \"P. Lund\"\ngap_s = 1800\nfirst_round_s = 1800\npeople_at_least = 1\n[[order]]\nfrom = \"house\"\ngap_s = 1800\n[[order]]\nfrom = \"client\"\nby = \"P. Lund\"\ngap_s = 3600\n";
    let gave_way: String = told(facts)
        .lines()
        .filter(|line| line.starts_with("gave") || line.starts_with("people"))
        .map(|line| format!("{line}\n"))
        .collect();
    expect![[r#"
        people 2 [authority:]
        gave way: Gap Seconds(1800) [client: P. Lund] OnlyTheAuthorityLoosens
        gave way: Gap Seconds(1800) [house:] OnlyTheAuthorityLoosens
        gave way: Gap Seconds(3600) [client: P. Lund] OnlyTheAuthorityLoosens
        gave way: FirstRound Seconds(1800) [client: P. Lund] OnlyTheAuthorityLoosens
        gave way: People People(1) [client: P. Lund] OnlyTheAuthorityLoosens
    "#]]
    .assert_eq(&gave_way);
}

fn required(facts: &str) -> String {
    told(facts).lines().next().unwrap_or_default().to_owned()
}

/// What a release or a waiver ends is what was there by then, whether a code has a number for it or not. What began a second
/// later stands: a false *none found* would be the worst error.
#[test]
fn a_release_and_a_waiver_end_what_was_there_by_then() {
    let at = |profile: &str, cause: &str| {
        format!(
            "profile = \"{profile}\"\nzone = \"America/Chicago\"\nat = \"2026-03-02T04:00:00\"\n{cause}\n"
        )
    };
    let out =
        |system: &str, from: &str| format!("[[outage]]\nsystem = \"{system}\"\nfrom = \"{from}\"");
    let spark = |at: &str| format!("[[hot_work]]\nlast_spark = \"{at}\"");
    let site = "[construction]\nstage = \"demolition\"\nheight_m = 6.0";
    let released = format!("{REYES}released = \"2026-03-01T23:00\"");
    let waived = format!("{REYES}watch = false");
    let (none, authority) = ("none_found", "authority");
    let cases = [
        // A system of which NFPA 101 says nothing.
        ("NFPA 101 2012", out("smoke-control", "2026-03-01T23:00:00"), none, none),
        ("NFPA 101 2012", out("smoke-control", "2026-03-01T23:00:01"), authority, authority),
        (
            "NFPA 101 2012",
            out("smoke-control", "2026-03-01T22:00")
                + "\n"
                + &out("smoke-control", "2026-03-01T23:30"),
            authority,
            authority,
        ),
        // IFC 2018 901.7 leaves an outage to the official, 3304.5 a site.
        ("IFC 2018", out("fire-alarm", "2026-03-01T23:00:00"), none, none),
        ("IFC 2018", out("fire-alarm", "2026-03-01T23:00:01"), authority, authority),
        ("IFC 2018", site.to_owned(), none, none),
        // Hot work: no rule about it; none about the time after it; no minutes (29 CFR 1926.352(e)).
        ("NFPA 101 2012", spark("2026-03-01T23:00:00"), none, none),
        ("NFPA 101 2012", spark("2026-03-01T23:00:01"), authority, authority),
        ("Vancouver, British Columbia", spark("2026-03-01T23:00:00"), none, none),
        ("Vancouver, British Columbia", spark("2026-03-01T23:00:01"), authority, authority),
        ("29 CFR 1926", spark("2026-03-01T23:00:00"), none, none),
        ("29 CFR 1926", spark("2026-03-01T23:00:01"), authority, authority),
        // IFC 2018 3501.3: the official approves hot work where sprinklers are out.
        ("IFC 2018", spark("2026-03-01T23:00:00") + "\nimpaired = true", none, none),
        ("IFC 2018", spark("2026-03-01T23:00:01") + "\nimpaired = true", authority, authority),
        // NFPA 101 9.6.1.6: owed from 23:00, caused at 19:00.
        ("NFPA 101 2012", out("fire-alarm", "2026-03-01T19:00:00"), none, none),
        (
            "NFPA 101 2012",
            out("fire-alarm", "2026-03-01T19:00:01"),
            "yes since 2026-03-01 23:00:01-06:00",
            none,
        ),
    ];
    for (profile, cause, by_release, by_waiver) in cases {
        let facts = at(profile, &cause);
        assert_ne!(required(&facts), none, "{facts}");
        assert_eq!(required(&(facts.clone() + &released)), by_release, "released: {facts}");
        assert_eq!(required(&(facts.clone() + &waived)), by_waiver, "waived: {facts}");
    }
}

/// Where nothing is owed any more no alternative is offered, and the page says by whose word.
#[test]
fn what_was_spared_or_released_is_told_without_alternatives() {
    let facts = |order: &str| {
        format!(
            "profile = \"NFPA 101 2012\"\nzone = \"America/Chicago\"\nat = \"2026-03-02T04:00\"\n[[outage]]\nsystem = \"fire-alarm\"\nfrom = \"2026-03-01T22:00\"\n{REYES}{order}"
        )
    };
    expect![[r#"
        none_found
        gave way: Required Flag(true) [code: NFPA 101 2012 9.6.1.6] Authority
        because Out of service, fire alarm: 6 h within 24 h, more than 4 h. A watch is owed since 2026-03-02 02:00 -06:00.
        because The authority, by name and in writing, requires no watch.
    "#]]
    .assert_eq(&told_with_reasons(&facts("watch = false")));
    expect![[r#"
        none_found
        gave way: Required Flag(true) [code: NFPA 101 2012 9.6.1.6] Authority
        because Out of service, fire alarm: 6 h within 24 h, more than 4 h. A watch is owed since 2026-03-02 02:00 -06:00.
        because The watch was released 2026-03-02 03:00 -06:00.
    "#]].assert_eq(&told_with_reasons(&facts("released = \"2026-03-02T03:00\"")));
    // Nothing that was surely owed gave way.
    let open = "profile = \"IFC 2018\"\nzone = \"America/Chicago\"\nat = \"2026-03-02T04:00\"\n[[outage]]\nsystem = \"fire-alarm\"\nfrom = \"2026-03-01T22:00\"\n";
    let open = format!("{open}{REYES}watch = false");
    assert!(!told(&open).contains("gave way"), "{}", told(&open));
}

/// A client that only wants somebody told asks for no watch.
#[test]
fn a_client_who_wants_to_be_told_orders_no_watch() {
    let facts = "profile = \"NFPA 101 2012\"\nzone = \"America/Chicago\"\nat = \"2026-03-02T04:00\"\n[[order]]\nfrom = \"client\"\nby = \"P. Lund\"\nnotify = [\"owner\"]";
    assert_eq!(required(facts), "none_found");
}

/// The last of the ends of what is owed: a tail of half an hour (29 CFR 1910.252) and an order that holds longer.
#[test]
fn a_watch_lasts_until_its_last_cause_ends() {
    let facts = |until: &str| {
        format!(
            "profile = \"29 CFR 1910\"\nzone = \"America/Chicago\"\nat = \"2026-03-01T16:10\"\n[[hot_work]]\nlast_spark = \"2026-03-01T16:00\"\n[[order]]\nfrom = \"authority\"\nby = \"M. Reyes\"\nat = \"2026-03-01T15:00\"\nwatch = true\nuntil = \"{until}\""
        )
    };
    assert_eq!(
        required(&facts("2026-03-01T20:00")),
        "yes since 2026-03-01 15:00:00-06:00 until 2026-03-01 20:00:00-06:00"
    );
    assert_eq!(
        required(&facts("2026-03-01T16:20")),
        "yes since 2026-03-01 15:00:00-06:00 until 2026-03-01 16:30:00-06:00"
    );
}

/// The authority's end settles what 29 CFR 1926.352(e) leaves open, so the whole has an end; its source is among those of the tail.
#[test]
fn a_settled_tail_has_an_end_and_its_source() {
    let facts = "profile = \"29 CFR 1926\"\nzone = \"America/Chicago\"\nat = \"2026-03-01T16:10\"\n[[hot_work]]\nlast_spark = \"2026-03-01T16:00\"\n[[order]]\nfrom = \"authority\"\nby = \"M. Reyes\"\nat = \"2026-03-01T15:00\"\nwatch_until = \"2026-03-01T17:00\"\nuntil = \"2026-03-01T16:30\"";
    assert_eq!(
        required(facts),
        "yes since 2026-03-01 15:00:00-06:00 until 2026-03-01 17:00:00-06:00"
    );
    let read = facts::read(facts, Standards::embedded()).expect("facts");
    let sources = Terms::of(&read, Standards::embedded()).after_work.sources;
    let cited: Vec<String> = sources.iter().map(cited).collect();
    assert_eq!(cited, ["authority: M. Reyes", "code: 29 CFR 1926 (e)"]);
}

//! Building sites. Cases T16, T27 and T28 of the published values they cite.

use super::*;
use expect_test::expect;

fn site(profile: &str, rest: &str) -> String {
    format!(
        "profile = \"{profile}\"\nzone = \"America/Chicago\"\nat = \"2026-03-02T20:00:00\"\n[construction]\n{rest}"
    )
}

/// IFC 2018 3304.5.1: exceeds 40 ft, 12.192 m, and where the official requires it.
#[test]
fn forty_feet_and_an_inch() {
    check(
        &site("IFC 2018", "height_m = 12.192"),
        expect![[r#"
        none_found
        other duties allowed [code: IFC 2018 3304.5.2]
        write duty-periods, round-time, structure-entered
        deliver OnRequest
    "#]],
    );
    check(
        &site("IFC 2018", "height_m = 12.2174"),
        expect![[r#"
        authority
        other duties allowed [code: IFC 2018 3304.5.2]
        write duty-periods, round-time, structure-entered
        deliver OnRequest
    "#]],
    );
}

/// The same clause: "where required by the fire code official" becomes a duty with the order.
#[test]
fn the_officials_order_makes_it_a_duty() {
    let order = "[[order]]\nfrom = \"authority\"\nby = \"M. Reyes\"\nat = \"2026-03-01T09:00\"\nwatch = true";
    check(
        &site("IFC 2018", &format!("height_m = 12.2174\n{order}")),
        expect![[r#"
        yes since 2026-03-01 09:00:00-06:00
        other duties allowed [code: IFC 2018 3304.5.2]
        write duty-periods, round-time, structure-entered
        deliver OnRequest
    "#]],
    );
}

/// IFC 2021 3305.5.1: above 40 ft a watch in non-working hours; a holiday is one.
#[test]
fn the_watch_recurs_while_nobody_works() {
    let facts = site(
        "IFC 2021",
        "height_m = 14.0\nhours = \"Mon-Fri 07:00-17:00\"\nholidays = [\"2026-03-03\"]",
    );
    check(
        &facts,
        expect![[r#"
        yes since 2026-03-02 17:00:00-06:00 until 2026-03-04 07:00:00-06:00
        write duty-periods, round-time, structure-entered
    "#]],
    );
    check(
        &facts.replace("T20:00", "T12:00"),
        expect![[r#"
        yes since 2026-03-02 17:00:00-06:00 until 2026-03-04 07:00:00-06:00
        write duty-periods, round-time, structure-entered
    "#]],
    );
}

#[test]
fn an_unknown_height_is_never_low() {
    expect![[r#"
        authority
        other duties allowed [code: IFC 2018 3304.5.2]
        write duty-periods, round-time, structure-entered
        deliver OnRequest
        because Not stated: construction.height_m. The source depends on it (construction); the stricter reading is taken.
        because By the facts stated, its condition does not hold: construction.
        because By the facts stated, its condition does not hold: construction.
        because The source asks for constant patrols and states no interval.
        because No source in force states how long a zone may stay unseen. Ask the authority for a number.
    "#]].assert_eq(&told_with_reasons(&site("IFC 2018", "stage = \"new\"")));
}

/// IFC 2018 3304.5.2 lets the guard of a site keep both; 901.7 lets a person on an impairment watch do nothing else.
#[test]
fn security_duties_on_a_site_and_none_at_an_impairment() {
    let duties = |facts: &str| {
        let facts = facts::read(facts, Standards::embedded()).expect("facts");
        Terms::of(&facts, Standards::embedded()).other_duties.map(|duties| duties.allowed)
    };
    let outage = "[[outage]]\nsystem = \"fire-alarm\"\nfrom = \"2026-03-02T19:00\"";
    assert_eq!(duties(&site("IFC 2018", "height_m = 14.0")), Some(true));
    assert_eq!(duties(&site("IFC 2018", &format!("height_m = 14.0\n{outage}"))), Some(false));
}

/// IFC 2018 3304.5.3: periods of duty, each patrol, and each structure entered.
#[test]
fn the_log_of_a_site_has_two_kinds_of_entry() {
    let facts =
        facts::read(&site("IFC 2018", "height_m = 14.0"), Standards::embedded()).expect("facts");
    let items: Vec<LogItem> =
        Terms::of(&facts, Standards::embedded()).write.iter().map(|write| write.item).collect();
    assert_eq!(items, [LogItem::DutyPeriods, LogItem::RoundTime, LogItem::StructureEntered]);
}

/// IFC 2021 3305.5.1: higher than 40 ft or more than 50,000 sq ft a storey, which is 4,645.15 m². One that holds is enough; the
/// height may be stated of the building.
#[test]
fn a_storey_of_fifty_thousand_square_feet() {
    let first = |facts: &str| told(facts).lines().next().unwrap_or_default().to_owned();
    let of = |rest: &str| first(&site("IFC 2021", rest));
    assert_eq!(of("height_m = 10.0\nstorey_area_m2 = 4645.0"), "authority");
    assert_eq!(of("height_m = 10.0\nstorey_area_m2 = 4646.0"), "yes");
    assert_eq!(of("height_m = 14.0"), "yes");
    assert_eq!(of("storey_area_m2 = 4645.0"), "authority");
    assert_eq!(of("storey_area_m2 = 4645.0\n[building]\nheight_m = 14.0"), "yes");
    expect![[r#"
        yes
        write duty-periods, round-time, structure-entered
        because Calls for a watch: construction.
        because The watch is kept while nobody works. The working hours are not stated, so none is taken off.
        because Construction: the source leaves it to the authority.
        because No source in force states how long a zone may stay unseen. Ask the authority for a number.
    "#]].assert_eq(&told_with_reasons(&site("IFC 2021", "height_m = 14.0")));
    expect![[r#"
        authority
        write duty-periods, round-time, structure-entered
        because By the facts stated, its condition does not hold: construction.
        because Not stated: construction.storey_area_m2. The source depends on it (construction); the stricter reading is taken.
        because Construction: the source leaves it to the authority.
        because No source in force states how long a zone may stay unseen. Ask the authority for a number.
    "#]].assert_eq(&told_with_reasons(&site("IFC 2021", "height_m = 10.0")));
}

/// IFC 2018 3304.5: hazardous construction is the official's, by what is stated or by hot work.
#[test]
fn hazardous_construction_is_the_officials() {
    let first =
        |rest: &str| told(&site("IFC 2018", rest)).lines().next().unwrap_or_default().to_owned();
    assert_eq!(first("height_m = 6.0\nhazardous = false"), "none_found");
    assert_eq!(first("height_m = 6.0\nhazardous = true"), "authority");
}

/// IFC 2021 3305.5: *multistory* construction with more than 50,000 sq ft a storey; how many storeys unstated is read as
/// several.
#[test]
fn a_large_single_storey_is_the_officials_to_judge() {
    let first = |building: &str| {
        let facts = format!(
            "profile = \"IFC 2021\"\nzone = \"America/Chicago\"\nat = \"2026-03-02T22:00\"\n{building}[construction]\nheight_m = 9.0\nstorey_area_m2 = 9000"
        );
        told(&facts).lines().next().unwrap_or_default().to_owned()
    };
    assert_eq!(first("[building]\nstoreys = 1\n"), "authority");
    assert_eq!(first("[building]\nstoreys = 2\n"), "yes");
    assert_eq!(first(""), "yes");
}

//! Cases whose right answer is *authority*: a false *none found* is the worst error.

use super::*;
use expect_test::expect;

fn reasons(facts: &str, expected: Expect) {
    assert!(told(facts).starts_with("authority\n"), "{}", told(facts));
    expected.assert_eq(&told_with_reasons(facts));
}

fn head(profile: &str) -> String {
    format!("profile = \"{profile}\"\nzone = \"America/Chicago\"\nat = \"2026-03-02T04:00:00\"\n")
}

/// IFC 2018 901.7: any outage; evacuation or watch where the official requires it.
#[test]
fn the_code_has_no_hours() {
    let facts =
        head("IFC 2018") + "[[outage]]\nsystem = \"fire-alarm\"\nfrom = \"2026-03-02T03:59:00\"";
    reasons(
        &facts,
        expect![[r#"
        authority
        other duties not allowed [code: IFC 2018 901.7]
        because Out of service, fire alarm: the source knows no hours. Tell at once; the authority decides.
        because The source asks for constant patrols and states no interval.
        because No source in force states how long a zone may stay unseen. Ask the authority for a number.
    "#]],
    );
}

/// IFC 2018 3304.5: demolition, where the official requires it.
#[test]
fn a_demolition_is_the_officials() {
    reasons(
        &(head("IFC 2018") + "[construction]\nstage = \"demolition\"\nheight_m = 6.0"),
        expect![[r#"
            authority
            other duties allowed [code: IFC 2018 3304.5.2]
            write duty-periods, round-time, structure-entered
            deliver OnRequest
            because By the facts stated, its condition does not hold: construction.
            because Construction: the source leaves it to the authority.
            because By the facts stated, its condition does not hold: construction.
            because The source asks for constant patrols and states no interval.
            because No source in force states how long a zone may stay unseen. Ask the authority for a number.
        "#]],
    );
}

/// NFPA 101 as read so far says nothing about smoke control.
#[test]
fn a_system_without_a_rule() {
    let facts = head("NFPA 101 2012")
        + "[[outage]]\nsystem = \"smoke-control\"\nfrom = \"2026-03-01T04:00:00\"";
    reasons(
        &facts,
        expect![[r#"
        authority
        because The sources asked say nothing about this: outage (smoke control). The authority decides.
        because No source in force states how long a zone may stay unseen. Ask the authority for a number.
    "#]],
    );
}

/// Regulatory Reform (Fire Safety) Order 2005: the risk assessment of the responsible person; no hours, no interval.
#[test]
fn a_risk_assessment_decides() {
    let facts = head("UK Regulatory Reform (Fire Safety) Order 2005")
        + "[[outage]]\nsystem = \"fire-alarm\"\nfrom = \"2026-03-01T04:00:00\"";
    reasons(
        &facts,
        expect![[r#"
            authority
            because Out of service, fire alarm: the source knows no hours. Tell at once; the responsible person decides.
            because Longest time unseen: the source states no number; the responsible person decides.
            because No source in force states how long a zone may stay unseen. Ask the authority for a number.
        "#]],
    );
}

/// 29 CFR 1926.352(e): a sufficient period after the work.
#[test]
fn a_sufficient_period() {
    reasons(
        &(head("29 CFR 1926") + "[[hot_work]]\nlast_spark = \"2026-03-01T16:00:00\""),
        expect![[r#"
            authority
            because Watch after hot work: the source states no number; the employer decides.
            because No source in force states how long a zone may stay unseen. Ask the authority for a number.
        "#]],
    );
}

/// IFC 2018 403.12.1: gatherings, where the official finds a watch essential.
#[test]
fn a_gathering_is_the_officials() {
    reasons(
        &(head("IFC 2018") + "[building]\noccupancy = \"A-4\"\ncrowd = 300"),
        expect![[r#"
            authority
            because Gathering of people: the source leaves it to the authority.
            because No source in force states how long a zone may stay unseen. Ask the authority for a number.
            because Not stated: building.outdoor. The source depends on it (crowd managers); the stricter reading is taken.
            because Not stated: building.worship. The source depends on it (crowd managers); the stricter reading is taken.
        "#]],
    );
}

/// Hanover County: only the authority places a business on fire watch.
#[test]
fn repeated_false_alarms() {
    reasons(
        &(head("Hanover County, Virginia") + "[building]\nnuisance_alarms = true"),
        expect![[r#"
            authority
            write record
            because Repeated false alarms: the source leaves it to the authority.
            because No source in force states how long a zone may stay unseen. Ask the authority for a number.
        "#]],
    );
    reasons(
        &(head("Alabama") + "[building]\nnuisance_alarms = true"),
        expect![[r#"
            authority
            gap all 900 s [code: Alabama frequency of patrols]
            other duties not allowed [code: Alabama no other duties]
            write site-address, round-time, name, notes
            because The sources asked say nothing about this: repeated false alarms. The authority decides.
            because Not stated: building.sleeping. The source depends on it (longest time unseen); the stricter reading is taken.
            because Not stated: building.occupancy. The source depends on it (longest time unseen); the stricter reading is taken.
        "#]],
    );
}

/// A place that states an interval and no trigger.
#[test]
fn an_interval_without_a_trigger() {
    reasons(
        &(head("Lethbridge, Alberta")
            + "[[outage]]\nsystem = \"sprinkler\"\nfrom = \"2026-03-02T03:00:00\""),
        expect![[r#"
            authority
            gap all 3600 s [code: Lethbridge, Alberta Fire Watch Record card every hour, day and night]
            write record, round-time
            ended by technician
            because The sources asked say nothing about this: outage (sprinklers). The authority decides.
        "#]],
    );
}

/// Only values that nobody should rely on: nothing is in force.
#[test]
fn nothing_usable_is_not_nothing_found() {
    reasons(
        &head("AS 1851 2012"),
        expect![[r#"
        authority
        because None of the sources asked was in force on that day, or none states a rule that can be used.
        because No source in force states how long a zone may stay unseen. Ask the authority for a number.
    "#]],
    );
}

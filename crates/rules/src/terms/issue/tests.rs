//! Terms as a watch carries them, from FACTS whose answer a published page states.

use super::*;
use crate::terms::facts;
use floorplan::ZoneKind as Use;
use jiff::tz::TimeZone;
use words::Lang;

fn issued(profile: &str, facts: &str, zones: &[(&str, Use)]) -> Issued {
    let text = format!(
        "profile = [\"{profile}\"]\nzone = \"America/Chicago\"\nat = \"2026-03-02T04:00:00\"\n{facts}"
    );
    let facts = facts::read(&text, Standards::embedded()).expect("facts that can be read");
    let zone = TimeZone::get("America/Chicago").expect("a zone of the database");
    let speech = Speech { lang: Lang::En, zone };
    let zones: Vec<_> =
        zones.iter().map(|(id, kind)| (ZoneId::new(*id).expect("an id"), *kind)).collect();
    Terms::of(&facts, Standards::embedded()).issue(&speech, &zones, Some(&facts))
}

const ALARM_OUT: &str = "[[outage]]\nsystem = \"fire-alarm\"\nfrom = \"2026-03-01T22:00:00\"\n";

fn gaps(issued: &Issued) -> Vec<(&str, u32)> {
    issued.set.gaps_s.iter().map(|(zone, gap_s)| (zone.as_str(), *gap_s)).collect()
}

fn demand<'a>(issued: &'a Issued, of: &str) -> &'a Demand {
    issued.sheet.demands.iter().find(|demand| demand.of == of).expect("a demand about it")
}

/// City of Ames Fire Department, Fire Watch Information: every 15 minutes where people sleep, else every 30.
#[test]
fn a_citys_gap_stands_in_the_line_and_its_source_beside_it() {
    let hotel = issued(
        "Ames, Iowa",
        &format!("[building]\nsleeping = true\n{ALARM_OUT}"),
        &[("floor-1", Use::General), ("floor-2", Use::Sleeping)],
    );
    assert_eq!(gaps(&hotel), [("floor-1", 900), ("floor-2", 900)]);
    let gap = demand(&hotel, "zones");
    assert_eq!((gap.gap_s, gap.from), (Some(900), DemandFrom::Code));
    assert!(gap.source.contains("Ames"), "{}", gap.source);
    let store = issued(
        "Ames, Iowa",
        &format!("[building]\nsleeping = false\noccupancy = \"M\"\n{ALARM_OUT}"),
        &[("floor-1", Use::General)],
    );
    assert_eq!(gaps(&store), [("floor-1", 1800)]);
    assert_eq!(store.set.terms, store.sheet.digest(), "the line names the document");
}

/// Cape Coral Fire Department, Fire Watch: the log is sent every morning by 08:00.
#[test]
fn a_morning_delivery_is_counted_from_the_end_of_the_day() {
    let issued = issued("Cape Coral, Florida", ALARM_OUT, &[("floor-1", Use::General)]);
    assert_eq!(issued.sheet.owed.deliver_within_s, Some(8 * 3_600));
    assert!(demand(&issued, "deliver_within_s").text.contains("08:00"));
}

/// Bothell Fire Department, fire watch: only the fire marshal ends it; no interval is stated, so the number is ours.
#[test]
fn what_no_source_states_is_ours_and_says_so() {
    let issued = issued("Bothell, Washington", ALARM_OUT, &[("floor-1", Use::General)]);
    assert_eq!(issued.sheet.owed.release_by, [ReleasedBy::Authority]);
    assert_eq!(demand(&issued, "zones").from, DemandFrom::House);
    assert_eq!(demand(&issued, "release_by").from, DemandFrom::Code);
    assert!(!issued.set.other_duties);
}

/// IFC 2018 901.7: fire department and code official at once; 901.7.4: insurer, alarm company, owner.
#[test]
fn notices_name_parties_as_lines_do() {
    let issued = issued("IFC 2018", ALARM_OUT, &[("floor-1", Use::General)]);
    let parties: Vec<_> = issued.sheet.owed.notify.iter().map(|owed| owed.party).collect();
    for party in [record::Party::FireService, record::Party::Authority, record::Party::Insurer] {
        assert!(parties.contains(&party), "{party:?} in {parties:?}");
    }
    let mut once = parties.clone();
    once.dedup();
    assert_eq!(once, parties, "each party once");
    assert!(issued.sheet.demands.iter().any(|demand| demand.of == "restoration"));
}

/// An order for the places where people sleep leaves the other zones with what holds for all.
#[test]
fn a_gap_for_some_zones_stands_with_those_zones() {
    let order = "[[order]]\nfrom = \"authority\"\nby = \"Fire Marshal\"\nat = \"2026-03-02T01:00:00\"\n\
        for = \"sleeping\"\ngap_s = 600\n";
    let issued = issued(
        "Ames, Iowa",
        &format!("[building]\nsleeping = false\noccupancy = \"M\"\n{ALARM_OUT}{order}"),
        &[("dorm", Use::Sleeping), ("shop", Use::General)],
    );
    assert_eq!(gaps(&issued), [("dorm", 600), ("shop", 1800)]);
    assert_eq!(demand(&issued, "dorm").from, DemandFrom::Authority);
}

/// Every demand of the document, in its words, with its source: what is left out here is missing on the watch.
fn document(issued: &Issued) -> String {
    let mut out = String::new();
    for demand in &issued.sheet.demands {
        let gap = demand.gap_s.map(|gap_s| format!(" {gap_s} s")).unwrap_or_default();
        out += &format!("{}{gap}: {} <{}>\n", demand.of, demand.text, demand.source);
    }
    out += &format!("{:#?}\n{:#?}\n", issued.sheet.owed, issued.set.gaps_s);
    let set = &issued.set;
    out += &format!("{:?} {} {}\n", set.first_round_s, set.people_at_least, set.other_duties);
    out.replace(words::NBSP, " ")
}

#[test]
fn the_whole_document_of_a_site_with_hot_work() {
    let issued = issued(
        "IFC 2018",
        "[construction]\nheight_m = 14.0\n[[outage]]\nsystem = \"sprinkler\"\nfrom = \"2026-03-02T01:00:00\"\n\
         [[hot_work]]\nlast_spark = \"2026-03-02T03:45:00\"\none_sees_all = false\n\
         [[order]]\nfrom = \"authority\"\nby = \"R. Ortega\"\nat = \"2026-03-02T02:00:00\"\nfirst_round_s = 600\n\
         retain_s = 94694400\non = \"paper\"\ndeliver = \"06:30\"\nchecks_every_s = 900\ngap_s = 1200\n\
         write = [\"signature\", \"day-statement\"]\n",
        &[("yard", Use::Outside), ("hall", Use::General)],
    );
    expect_test::expect_file!["tests/site.txt"].assert_eq(&document(&issued));
}

/// Vancouver's by-law: the fire service or a technician. Lethbridge: the technician's letter. Both must be content, so
/// it is the technician; Bothell's fire marshal excludes him, and only the authority is above both.
#[test]
fn who_ends_it_must_content_every_source() {
    let by = |profiles: &str| {
        let out = issued(profiles, ALARM_OUT, &[("floor-1", Use::General)]);
        out.sheet.owed.release_by
    };
    let two = "Vancouver, British Columbia\", \"Lethbridge, Alberta";
    assert_eq!(by(two), [ReleasedBy::Technician]);
    let excluded = "Lethbridge, Alberta\", \"Bothell, Washington";
    assert_eq!(by(excluded), [ReleasedBy::Authority]);
}

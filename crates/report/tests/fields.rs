//! The union of the fields that published blank forms and log rules ask for, item by item: each is found in the
//! text of the paper that carries it. A field that the record cannot fill is there to be filled in by hand.
//!
//! Sources, as collected in 2026 (short names in the tables): log rules of Los Angeles (LAMC 57.918.2 and
//! 57.324.18.1.1), the Alabama State Fire Marshal, West Jackson GA, Nassau County NY, Cleveland State University,
//! LSU, Cape Coral FL, Eastside WA, the Universities of Guelph and Alabama, the Construction Fire Safety Coalition;
//! impairment forms of an airport (A) and an insurance broker (B), rules of NFPA 25-1998 chapter 11 (N), Savannah
//! (S), Seattle 9.06.07 (Q), a university procedure (U), Syracuse NY; seven published hot work permits (HW) and the
//! US Chemical Safety Board's seven lessons (CSB). Time sheets: common practice.

mod eventful;
#[expect(dead_code, reason = "the other papers ask more of the outside programs")]
mod outside;
mod told;

use outside::text;
use report::{Kind, Paper, Request};
use told::fold;

/// Field, who asks for it, what must stand on the paper.
type Asked = (&'static str, &'static str, &'static str);

const LOG: &[Asked] = &[
    ("time of round", "11 of 12 sources", "20:04 20:04 Ines"),
    ("name of person", "7 of 12", "Ines"),
    (
        "start of each round",
        "LAMC-324, West Jackson, LSU, Cape Coral, CFSC",
        "20:03 20:03 Ines Round 1 began",
    ),
    (
        "end of each round",
        "LAMC-324, West Jackson, LSU, Cape Coral, CFSC",
        "20:17 20:17 Ines Round 1 ended",
    ),
    (
        "conditions and hazards found",
        "LAMC-324 and four more",
        "Door 7 wedged with a cart, cart taken away",
    ),
    ("how it was corrected", "LAMC-324", "shut"),
    ("initials or signature", "4 of 12", "Ines signed 02:02."),
    ("a place to sign with a pen", "4 of 12", "Guard (name printed, title, signature)"),
    (
        "kept on the premises, open to inspection",
        "LAMC-918, Nassau, West Jackson, LSU, Cape Coral",
        "Keep this log at the premises, open to inspection",
    ),
    ("sent to the authority daily", "Eastside, Cape Coral, Ames, Bremerton", "Report 1 went out"),
    ("area patrolled", "LAMC-324, Nassau", "Stair B, all floors"),
    ("date", "2 of 12", "2 March 2026"),
    ("page number", "3 RCNY 404-01 (second-hand)", "Page 1 of"),
    ("site address", "2 of 12", "3 Harbour Row, Gannet"),
    (
        "communication with the fire department, its time and method",
        "LAMC-324",
        "fire service 19:50 by telephone",
    ),
    (
        "watch initiated",
        "Cleveland State",
        "This watch, since 2 March 2026, 20:00: Fire alarm, Sprinklers",
    ),
    ("title or post of the guard", "LAMC-324", "name printed, title, signature"),
    (
        "supervisor's signed statement at the end of the day",
        "LAMC-324",
        "I have read this log to the end of its day",
    ),
    ("a review is no check, but is said", "federal prison check sheet", "Read by the house"),
    (
        "emergency directory in the log",
        "LAMC-918",
        "Whom to ring impairment coordinator: Sela Ndiaye, 555 0177",
    ),
    ("purpose, told to the guard", "University of Alabama", "Instructions read"),
    ("expected duration", "University of Alabama", "expected back 3 March 2026, 12:00"),
    ("order of the authority", "fire marshals on one page", "Order 26-118 received from authority"),
    ("intervals required and by whom", "fire marshals on one page", "seen at least every 15 min"),
    ("coordinator and contact", "Syracuse", "Ask Sela Ndiaye (impairment coordinator), 555 0177."),
    ("whether entries were made at the time", "FRE 803(6)", "written 3 h"),
    ("digest of the record", "FRE 902(14)", "Head "),
];

const INCIDENT: &[Asked] = &[
    ("any fire: when first seen", "LAMC-324", "First seen 3 March 2026, 03:18"),
    ("people on duty", "LAMC-324", "On duty then Omar"),
    ("witnesses", "LAMC-324", "Witnesses (name and how to reach them)"),
    ("how it was put out", "LAMC-324", "How it was put out, and by whom"),
    ("probable cause", "LAMC-324", "Probable cause"),
    (
        "time and method of telling the fire department",
        "LAMC-324",
        "called 03:19:00 +1 min 0 s Omar",
    ),
    ("who else was told, when, how", "LAMC-324", "supervisor: Jon Aalto by telephone, reached"),
    (
        "number of the fire service's report",
        "common practice",
        "Number of the fire service’s report",
    ),
    ("anybody hurt or missing", "common practice", "Anybody hurt or missing"),
    ("damage", "common practice", "What burned; damage"),
    ("last look at the place before", "common practice", "Last recorded look"),
];

const IMPAIRMENT: &[Asked] = &[
    ("system affected", "A B N Q U, Syracuse", "System Fire alarm"),
    (
        "which part: valve, main, hydrant, pump, tank, hose",
        "A B N Q U",
        "valve, main, hydrant, pump, tank, hose",
    ),
    ("building and address", "A B, Syracuse", "3 Harbour Row, Gannet"),
    ("area without it", "A B", "which areas are without it"),
    ("type of operation", "A B", "What goes on there (type of operation"),
    ("planned or emergency", "A B U", "Planned or found found"),
    ("reason, work to be done", "A B U", "Reason; work to be done"),
    ("time and date off", "A B, Syracuse", "Out since 2 March 2026, 20:55"),
    ("expected duration", "A B, Syracuse", "Expected to last 15 h 5 min"),
    ("expected back", "A B", "Expected back 3 March 2026, 12:00"),
    ("time and date restored", "A B", "Back since 3 March 2026, 06:40"),
    (
        "applicant: name, firm, phone, e-mail, and notice ahead",
        "A B, New Paltz, Brown, Indiana",
        "Asked for by, and when (name, firm, number, e-mail)",
    ),
    ("technician or contractor, firm, phone", "A B", "Technician or contractor, firm, number"),
    ("site representative", "A B", "For the site, name and number Marta Ilves, 555 0142"),
    ("approval", "A B N W U, Guelph", "Approved by"),
    (
        "impairment coordinator and contact",
        "A B N W U, Syracuse",
        "Impairment coordinator and number Sela Ndiaye, 555 0177",
    ),
    ("fire department told", "A B S W Q", "fire service 2 March 2026, 19:50 by telephone"),
    ("insurer told", "A, S", "insurer 2 March 2026, 19:52 by e-mail"),
    (
        "monitoring company told",
        "Charlotte NC",
        "monitoring company 2 March 2026, 19:54 by telephone",
    ),
    ("other authorities told", "A", "authority"),
    ("manager told", "A B", "owner or manager: Marta Ilves"),
    ("hot work banned", "A B", "No hot work where the system is out"),
    ("smoking controlled", "A B", "Smoking kept to safe places"),
    ("hazardous processes stopped", "A B", "Hazardous processes stopped"),
    ("hydrants, hose, extinguishers at hand", "A B", "Extinguishers, hoses and hydrants at hand"),
    ("emergency procedures reviewed", "A B", "Emergency procedure gone through"),
    ("fire watch provided", "A B W S", "Fire watch yes, since 2 March 2026, 20:00"),
    (
        "work until restored; restored each night",
        "A B",
        "System put back each night, or work goes on until it is back",
    ),
    ("linked hot work permit", "A", "Hot work permit, if work goes on"),
    ("tag at each fire department connection", "N S", "Fire service connection"),
    ("tag at control valves", "N S", "Control valve"),
    ("tag at the alarm panel and annunciator", "N S", "Annunciator"),
    ("tag at the hood pull station", "N S", "Kitchen hood pull station"),
    ("tag where the authority says", "N S", "Other places that the authority names"),
    ("words of the tag: impaired", "S", "OUT OF SERVICE"),
    ("words of the tag: fire watch", "S", "A fire watch walks this building until it is back."),
];

const PERMIT: &[Asked] = &[
    ("35 ft clear or shielded", "HW 7/7", "35 ft around clear or shielded"),
    ("sprinklers in service", "HW 6/7", "Sprinklers in service"),
    ("extinguisher or hose", "HW 6/7", "Extinguisher or hose ready"),
    ("equipment in good order", "HW 6/7", "Equipment in good order"),
    ("flammables, dust, lint gone", "HW 6/7", "Flammables, dust, lint gone"),
    ("place, building, floor", "HW 5/7", "Where Roof"),
    ("employee or contractor", "HW 5/7", "Who does the work (name, firm)"),
    ("can it be done cold", "HW 5/7", "Cannot be done cold"),
    ("nature of the job", "HW 4/7", "What is done, with what"),
    ("start date and time", "HW 4/7", "Work began 2 March 2026, 20:35"),
    ("other side of wall, floor, roof", "HW 4/7", "Other side checked"),
    ("ducts and conveyors", "HW 4/7", "Ducts closed"),
    ("authoriser", "HW 4/7", "Authorised by"),
    ("watch after the work", "HW 4/7", "Watched without a break until 2 March 2026, 22:20"),
    ("openings covered", "HW 3/7", "Openings covered"),
    ("enclosed equipment purged", "HW 3/7", "Enclosed equipment purged"),
    ("expiry, date and time", "HW 3/7", "Valid until"),
    ("person on fire watch", "HW 3/7", "On fire watch Ines"),
    ("later monitoring", "HW 3/7", "Looks until"),
    ("final check, time and signature", "HW 3/7", "Final check (name, date and time)"),
    ("alarm or detector disabled", "HW 2/7", "Detectors that are off noted"),
    ("permit number", "HW 1/7", "Permit number"),
    ("who was notified, by name", "HW 1/7", "Told before the work began, by name and number"),
    ("gas test", "CSB", "Gas reading"),
    ("kept for 48 hours", "IFC 2018 3503.3", "48 hours"),
    ("systems out in the building", "A", "Systems out Fire alarm, Sprinklers"),
];

const RESTORED: &[Asked] = &[
    ("time and date restored", "A B, S", "Back since 3 March 2026, 06:40"),
    ("how long it was out", "Syracuse", "Was out for 10 h 40 min"),
    ("tested, with which result", "IFC 2018 901.7.6", "What was tested, with which result"),
    (
        "same parties told again",
        "Syracuse",
        "Everybody who was told of the outage is told of its end",
    ),
    ("fire department told", "IFC 2018 901.7.6", "fire service 3 March 2026, 06:45 by telephone"),
    ("tags removed", "IFC 2018 901.7.6", "Tags removed"),
    (
        "who ends the watch",
        "Bothell, Arizona",
        "Fire watch goes on: nobody has released it in this record",
    ),
];

const HOURS: &[Asked] = &[
    ("guard", "common practice", "Ines"),
    ("day", "common practice", "2 March 2026"),
    ("began and ended", "common practice", "20:00 02:00"),
    ("breaks", "common practice", "Breaks"),
    ("other duties", "OSHA 1915.504(c)", "Other duties"),
    ("hours", "common practice", "6 h"),
    ("relief", "common practice", "signed 02:02"),
    ("minutes without a named guard", "Cape Coral and others: continuous", "Without a named guard"),
    ("signatures", "common practice", "Supervisor"),
];

#[test]
fn every_field_of_the_published_forms_stands_on_its_paper() {
    let folded = fold(&eventful::night());
    let request = Request { paper: Paper::Letter, ..folded.whole() };
    let mut missing = String::new();
    for (kind, fields) in [
        (Kind::Night, LOG),
        (Kind::Incident, INCIDENT),
        (Kind::Impairment, IMPAIRMENT),
        (Kind::Permit, PERMIT),
        (Kind::Restored, RESTORED),
        (Kind::Hours, HOURS),
    ] {
        let pdf = kind.to_pdf(&request, kind.name()).expect("a page");
        let text = text(&pdf).replace('\u{a0}', " ");
        for (field, source, says) in fields {
            if !text.contains(says) {
                missing += &format!("{}: {field} ({source}): {says:?}\n", kind.name());
            }
        }
        if missing.contains(kind.name()) {
            missing += &format!("--- {}:\n{text}\n", kind.name());
        }
    }
    assert!(missing.is_empty(), "these fields are not on their paper:\n{missing}");
}

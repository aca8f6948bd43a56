//! A FACTS file: TOML to facts, or every fault of it.

use super::fault::{Fault, Kind, Wrong};
use super::reader::{Keys, Reader, shown};
use super::time::{Twice, hour_after};
use super::{Building, Construction, Facts, HotWork, Open, Order, Outage};
use crate::codes::{LogItem, Medium, Origin, Party, Stage, System, ZoneKind};
use crate::nearest::nearest;
use crate::standards::{Profile, Standards};
use crate::terms::hours::Week;
use jiff::Timestamp;
use jiff::civil::{Date, Time};
use jiff::tz::TimeZone;
use toml::{Table, Value};

/// A FACTS file with every key, to copy and change.
pub const EXAMPLE: &str = include_str!("example.toml");

const TOP: Keys = &[
    ("profile", "profile = \"NFPA 101 2012\""),
    ("zone", "zone = \"America/Chicago\""),
    ("at", "at = \"2026-03-02T04:00:00\""),
    ("building", "[building]"),
    ("outage", "[[outage]]"),
    ("hot_work", "[[hot_work]]"),
    ("construction", "[construction]"),
    ("order", "[[order]]"),
];

const BUILDING: Keys = &[
    ("occupancy", "occupancy = \"R-1\""),
    ("sleeping", "sleeping = true"),
    ("storeys", "storeys = 6"),
    ("height_m", "height_m = 21.5"),
    ("area_m2", "area_m2 = 4200"),
    ("crowd", "crowd = 600"),
    ("open", "open = \"Mon-Sat 08:00-22:00\""),
    ("outdoor", "outdoor = false"),
    ("worship", "worship = false"),
    ("sprinklered", "sprinklered = true"),
    ("nuisance_alarms", "nuisance_alarms = false"),
];

const OUTAGE: Keys = &[
    ("system", "system = \"fire-alarm\""),
    ("from", "from = \"2026-03-01T22:00:00\""),
    ("to", "to = \"2026-03-02T01:30:00\""),
    ("expected_until", "expected_until = \"2026-03-02T12:00:00\""),
];

const HOT_WORK: Keys = &[
    ("began", "began = \"2026-03-01T14:00:00\""),
    ("last_spark", "last_spark = \"2026-03-01T16:00:00\""),
    ("surveyed", "surveyed = false"),
    ("impaired", "impaired = false"),
    ("combustibles_m", "combustibles_m = 6.0"),
    ("easily_ignited", "easily_ignited = false"),
    ("openings_m", "openings_m = 12.0"),
    ("metal_partition", "metal_partition = false"),
    ("one_sees_all", "one_sees_all = true"),
    ("torch_roofing", "torch_roofing = false"),
];

const CONSTRUCTION: Keys = &[
    ("height_m", "height_m = 14.0"),
    ("storey_area_m2", "storey_area_m2 = 900"),
    ("stage", "stage = \"new\""),
    ("hours", "hours = \"Mon-Fri 07:00-17:00\""),
    ("holidays", "holidays = [\"2026-12-25\"]"),
    ("hazardous", "hazardous = false"),
];

const ORDER: Keys = &[
    ("from", "from = \"authority\""),
    ("by", "by = \"Deputy Fire Marshal R. Ortega\""),
    ("at", "at = \"2026-03-01T23:10:00\""),
    ("until", "until = \"2026-03-05T08:00:00\""),
    ("reference", "reference = \"Order 114\""),
    ("watch", "watch = true"),
    ("released", "released = \"2026-03-02T03:30:00\""),
    ("for", "for = \"all\""),
    ("gap_s", "gap_s = 1800"),
    ("first_round_s", "first_round_s = 900"),
    ("people_at_least", "people_at_least = 2"),
    ("other_duties", "other_duties = false"),
    ("watch_until", "watch_until = \"2026-03-02T06:00:00\""),
    ("checks_every_s", "checks_every_s = 1200"),
    ("checks_until", "checks_until = \"2026-03-02T07:00:00\""),
    ("notify", "notify = [\"fire-department\", \"insurer\"]"),
    ("write", "write = [\"name\", \"round-began\", \"round-ended\"]"),
    ("on", "on = \"both\""),
    ("deliver", "deliver = \"08:00\""),
    ("retain_s", "retain_s = 94694400"),
];

/// Reads a FACTS file against these standards.
pub fn read(text: &str, standards: &Standards) -> Result<Facts, Vec<Fault>> {
    let table: Table = text.parse().map_err(|fault: toml::de::Error| {
        let example = TOP.iter().take(3).map(|(_, line)| format!("{line}\n")).collect();
        vec![Fault { key: String::new(), wrong: Wrong::NotToml(fault.to_string()), example }]
    })?;
    let mut faults = Vec::new();
    let facts = top(&table, standards, &mut faults);
    match facts {
        Some(facts) if faults.is_empty() => Ok(facts),
        _ => Err(faults),
    }
}

fn top(table: &Table, standards: &Standards, faults: &mut Vec<Fault>) -> Option<Facts> {
    let mut reader = Reader::new(table, "", TOP, faults);
    let profiles = profiles(&mut reader, standards);
    let zone = zone(&mut reader);
    // Times cannot be read without a zone; UTC stands in so that the other faults of the file are found too.
    let clock = zone.clone().unwrap_or(TimeZone::UTC);
    reader.must("at");
    let at = reader.time("at", &clock, Twice::Later);
    let building = reader.section("building");
    let outages = reader.sections("outage");
    let hot_work = reader.sections("hot_work");
    let construction = reader.section("construction");
    let orders = reader.sections("order");

    let building = building.map(|table| self::building(table, faults)).unwrap_or_default();
    let outages = numbered("outage", &outages, |table, path| outage(table, path, &clock, faults));
    let hot_work = numbered("hot_work", &hot_work, |table, path| {
        Some(self::hot_work(table, path, &clock, faults))
    });
    let construction = construction.map(|table| self::construction(table, faults));
    let orders = numbered("order", &orders, |table, path| order(table, path, &clock, faults));
    Some(Facts {
        profiles: profiles?,
        zone: zone?,
        at: at?,
        building,
        outages,
        hot_work,
        construction,
        orders,
    })
}

fn numbered<T>(
    key: &str,
    tables: &[&Table],
    mut read: impl FnMut(&Table, &str) -> Option<T>,
) -> Vec<T> {
    let each = tables.iter().enumerate();
    each.filter_map(|(at, table)| read(table, &format!("{key}[{}].", at + 1))).collect()
}

fn profiles(reader: &mut Reader<'_, '_>, standards: &Standards) -> Option<Vec<Profile>> {
    if !reader.must("profile") {
        return None;
    }
    let mut found = Vec::new();
    for name in reader.texts("profile") {
        match standards.find(name) {
            Ok(profile) => found.push(profile),
            Err(unknown) => {
                reader.refuse(
                    "profile",
                    Wrong::UnknownValue { given: unknown.asked, nearest: unknown.nearest },
                );
            }
        }
    }
    if found.is_empty() && reader.faults.is_empty() {
        reader.refuse("profile", Wrong::Missing);
    }
    Some(found)
}

fn zone(reader: &mut Reader<'_, '_>) -> Option<TimeZone> {
    if !reader.must("zone") {
        return None;
    }
    let name = reader.text("zone")?.trim();
    match jiff::tz::db().get(name) {
        Ok(zone) => Some(zone),
        Err(_) => {
            let names: Vec<String> =
                jiff::tz::db().available().map(|name| name.to_string()).collect();
            let nearest = nearest(name, names.iter().map(String::as_str)).unwrap_or("UTC").into();
            reader.refuse("zone", Wrong::UnknownValue { given: name.into(), nearest });
            None
        }
    }
}

fn building(table: &Table, faults: &mut Vec<Fault>) -> Building {
    let mut reader = Reader::new(table, "building.", BUILDING, faults);
    Building {
        occupancy: occupancy(&mut reader),
        sleeping: reader.flag("sleeping"),
        storeys: reader.whole("storeys", 0),
        height: reader.length("height_m"),
        area: reader.area("area_m2"),
        crowd: reader.whole("crowd", 0),
        open: open(&mut reader),
        outdoor: reader.flag("outdoor"),
        worship: reader.flag("worship"),
        sprinklered: reader.flag("sprinklered"),
        nuisance_alarms: reader.flag("nuisance_alarms"),
    }
}

/// The groups of the International Building Code chapter 3.
const GROUPS: &[&str] = &[
    "A", "A-1", "A-2", "A-3", "A-4", "A-5", "B", "E", "F", "F-1", "F-2", "H", "H-1", "H-2", "H-3",
    "H-4", "H-5", "I", "I-1", "I-2", "I-3", "I-4", "M", "R", "R-1", "R-2", "R-3", "R-4", "S",
    "S-1", "S-2", "U",
];

fn occupancy(reader: &mut Reader<'_, '_>) -> Vec<String> {
    let mut groups = Vec::new();
    for given in reader.texts("occupancy") {
        let wanted = given.trim().to_uppercase();
        match GROUPS.iter().find(|group| **group == wanted || group.replace('-', "") == wanted) {
            Some(group) => groups.push((*group).to_owned()),
            None => {
                let nearest = nearest(&wanted, GROUPS.iter().copied()).unwrap_or_default().into();
                reader.refuse("occupancy", Wrong::UnknownValue { given: given.into(), nearest });
            }
        }
    }
    groups
}

fn open(reader: &mut Reader<'_, '_>) -> Option<Open> {
    match reader.table.get("open") {
        Some(Value::Boolean(now)) => Some(Open::Now(*now)),
        _ => week(reader, "open").map(Open::Hours),
    }
}

fn week(reader: &mut Reader<'_, '_>, key: &str) -> Option<Week> {
    if !reader.has(key) {
        return None;
    }
    let lines = reader.texts(key);
    let week = Week::parse(lines.iter().copied());
    if week.is_none() && !lines.is_empty() {
        reader.refuse(key, Wrong::NotA { kind: Kind::Hours, given: lines.join(", ") });
    }
    week
}

fn outage(table: &Table, path: &str, zone: &TimeZone, faults: &mut Vec<Fault>) -> Option<Outage> {
    let mut reader = Reader::new(table, path, OUTAGE, faults);
    let system = if reader.must("system") { reader.text("system") } else { None };
    let system = system.and_then(|given| reader.code("system", given, System::ALL, System::as_str));
    reader.must("from");
    let from = reader.time("from", zone, Twice::Earlier);
    let to = reader.time("to", zone, Twice::Later);
    let expected_until = reader.time("expected_until", zone, Twice::Later);
    ends_after(&mut reader, zone, ("from", from), ("to", to));
    ends_after(&mut reader, zone, ("from", from), ("expected_until", expected_until));
    Some(Outage { system: system?, from: from?, to, expected_until })
}

/// Refuses a key whose time is before that of another key, with a time that would do.
fn ends_after(
    reader: &mut Reader<'_, '_>,
    zone: &TimeZone,
    (begins, from): (&str, Option<Timestamp>),
    (ends, to): (&str, Option<Timestamp>),
) {
    if let (Some(from), Some(to)) = (from, to)
        && to < from
    {
        let (begins, example) = (format!("{}{begins}", reader.path), hour_after(from, zone));
        reader.refuse(ends, Wrong::EndsBeforeItBegins { begins, example });
    }
}

fn hot_work(table: &Table, path: &str, zone: &TimeZone, faults: &mut Vec<Fault>) -> HotWork {
    let mut reader = Reader::new(table, path, HOT_WORK, faults);
    let began = reader.time("began", zone, Twice::Earlier);
    let last_spark = reader.time("last_spark", zone, Twice::Later);
    ends_after(&mut reader, zone, ("began", began), ("last_spark", last_spark));
    let surveyed = reader.flag("surveyed");
    if surveyed == Some(true) && !reader.has("last_spark") {
        let other = format!("{}last_spark", reader.path);
        reader.refuse("surveyed", Wrong::Contradicts { other });
    }
    HotWork {
        began,
        last_spark,
        surveyed,
        impaired: reader.flag("impaired"),
        combustibles: reader.length("combustibles_m"),
        easily_ignited: reader.flag("easily_ignited"),
        openings: reader.length("openings_m"),
        metal_partition: reader.flag("metal_partition"),
        one_sees_all: reader.flag("one_sees_all"),
        torch_roofing: reader.flag("torch_roofing"),
    }
}

fn construction(table: &Table, faults: &mut Vec<Fault>) -> Construction {
    let mut reader = Reader::new(table, "construction.", CONSTRUCTION, faults);
    let stage = reader
        .text("stage")
        .and_then(|given| reader.code("stage", given, Stage::ALL, Stage::as_str));
    Construction {
        height: reader.length("height_m"),
        storey_area: reader.area("storey_area_m2"),
        stage,
        hours: week(&mut reader, "hours"),
        holidays: holidays(&mut reader),
        hazardous: reader.flag("hazardous"),
    }
}

fn holidays(reader: &mut Reader<'_, '_>) -> Vec<Date> {
    let Some(value) = reader.table.get("holidays") else { return Vec::new() };
    let Value::Array(list) = value else {
        reader.refuse("holidays", Wrong::NotA { kind: Kind::List, given: shown(value) });
        return Vec::new();
    };
    let mut days = Vec::new();
    for day in list {
        match shown(day).parse::<Date>() {
            Ok(day) => days.push(day),
            Err(_) => reader.refuse("holidays", Wrong::NotA { kind: Kind::Day, given: shown(day) }),
        }
    }
    days
}

fn order(table: &Table, path: &str, zone: &TimeZone, faults: &mut Vec<Fault>) -> Option<Order> {
    let mut reader = Reader::new(table, path, ORDER, faults);
    let from = if reader.must("from") { reader.text("from") } else { None };
    // A code is no order: what it demands stands in its profile.
    let givers: Vec<Origin> =
        Origin::ALL.iter().copied().filter(|origin| *origin != Origin::Code).collect();
    let from = from.and_then(|given| reader.code("from", given, &givers, Origin::as_str));
    let at = reader.time("at", zone, Twice::Later);
    let until = reader.time("until", zone, Twice::Later);
    let released = reader.time("released", zone, Twice::Later);
    let watch_until = reader.time("watch_until", zone, Twice::Later);
    let checks_until = reader.time("checks_until", zone, Twice::Later);
    ends_after(&mut reader, zone, ("at", at), ("until", until));
    ends_after(&mut reader, zone, ("at", at), ("watch_until", watch_until));
    ends_after(&mut reader, zone, ("watch_until", watch_until), ("checks_until", checks_until));
    let watch = reader.flag("watch");
    let gap_s = reader.whole("gap_s", 1);
    if watch == Some(false) && gap_s.is_some() {
        let other = format!("{path}gap_s");
        reader.refuse("watch", Wrong::Contradicts { other });
    }
    let zone_kind = reader
        .text("for")
        .and_then(|given| reader.code("for", given, ZoneKind::ALL, ZoneKind::as_str));
    let on =
        reader.text("on").and_then(|given| reader.code("on", given, Medium::ALL, Medium::as_str));
    let by = reader.text("by").map(str::trim).filter(|name| !name.is_empty()).map(String::from);
    let order = Order {
        from: from?,
        by,
        at,
        until,
        reference: reader.text("reference").map(String::from),
        watch,
        released,
        zone_kind: zone_kind.unwrap_or(ZoneKind::All),
        gap_s,
        first_round_s: reader.whole("first_round_s", 0),
        people_at_least: reader.whole("people_at_least", 1),
        other_duties: reader.flag("other_duties"),
        watch_until,
        checks_every_s: reader.whole("checks_every_s", 1),
        checks_until,
        notify: reader.codes("notify", Party::ALL, Party::as_str),
        write: reader.codes("write", LogItem::ALL, LogItem::as_str),
        on,
        deliver: time_of_day(&mut reader, "deliver"),
        retain_s: reader.whole("retain_s", 1),
    };
    Some(order)
}

fn time_of_day(reader: &mut Reader<'_, '_>, key: &str) -> Option<Time> {
    let given = shown(reader.table.get(key)?);
    let time = given.trim().parse().ok();
    if time.is_none() {
        reader.refuse(key, Wrong::NotA { kind: Kind::TimeOfDay, given });
    }
    time
}

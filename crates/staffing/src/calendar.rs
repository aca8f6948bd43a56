//! A roster as iCalendar text (RFC 5545): one event a duty, in UTC, so that every calendar shows its own local time.

use crate::assign::Roster;
use crate::facts::Facts;
use jiff::Timestamp;
use std::fmt::Write as _;

/// The calendar, stamped with `now_min`, in minutes since 1970 UTC.
pub fn calendar(facts: &Facts, roster: &Roster, now_min: i64) -> String {
    let mut out = String::new();
    let mut line = |text: String| fold(&text, &mut out);
    line("BEGIN:VCALENDAR".to_owned());
    line("VERSION:2.0".to_owned());
    line("PRODID:-//Rattlewatch//Staffing//EN".to_owned());
    for (d, duty) in roster.duties.iter().enumerate() {
        let (post, name) = (&facts.posts[duty.post], &roster.people[roster.who[d]].name);
        let what = if duty.covers_break { "break cover" } else { "fire watch" };
        line("BEGIN:VEVENT".to_owned());
        line(format!("UID:{}-{}-{d}@rattlewatch", duty.from_min, duty.post));
        line(format!("DTSTAMP:{}", stamp(now_min)));
        line(format!("DTSTART:{}", stamp(duty.from_min)));
        line(format!("DTEND:{}", stamp(duty.to_min)));
        line(format!("SUMMARY:{}", escaped(&format!("{name}: {what}, {post}"))));
        line(format!("LOCATION:{}", escaped(&facts.site)));
        line("END:VEVENT".to_owned());
    }
    line("END:VCALENDAR".to_owned());
    out
}

/// `20261124T230000Z`.
fn stamp(minute: i64) -> String {
    let at = Timestamp::from_second(minute * 60).unwrap_or(Timestamp::UNIX_EPOCH);
    at.strftime("%Y%m%dT%H%M%SZ").to_string()
}

/// TEXT values escape backslash, semicolon, comma and line breaks (section 3.3.11).
fn escaped(text: &str) -> String {
    text.replace('\\', "\\\\").replace(';', "\\;").replace(',', "\\,").replace('\n', "\\n")
}

/// Lines end in CRLF and hold at most 75 octets, continued after a space (section 3.1).
fn fold(text: &str, out: &mut String) {
    let mut octets = 0;
    for c in text.chars() {
        if octets + c.len_utf8() > 75 {
            out.push_str("\r\n ");
            octets = 1;
        }
        let _ = write!(out, "{c}");
        octets += c.len_utf8();
    }
    out.push_str("\r\n");
}

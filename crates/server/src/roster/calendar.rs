//! The roster as iCalendar (RFC 5545), for people's own programs.

use super::{Planned, planned};
use crate::page::Reader;
use crate::server::App;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use jiff::Timestamp;
use words::{desk, desk_roster};

/// The longest line, octets (RFC 5545, 3.1).
const LINE_MAX: usize = 75;

/// `GET /roster/calendar.ics`
pub(crate) async fn calendar(State(app): State<App>, reader: Reader) -> Response {
    let lang = reader.lang;
    let book = app.book();
    let events = planned(&app, reader.now_ms).into_iter().map(|shift| {
        let who = book.name(&shift.who).unwrap_or(desk::somebody(lang)).to_owned();
        let title = format!("{who}: {}", desk_roster::shift_at(lang, &shift.site));
        (shift, title)
    });
    let text = written(&app.origin(), reader.now_ms, events);
    let disposition = "attachment; filename=\"roster.ics\"";
    let headers = [
        (header::CONTENT_TYPE, "text/calendar; charset=utf-8"),
        (header::CONTENT_DISPOSITION, disposition),
    ];
    (headers, text).into_response()
}

fn written(origin: &str, now_ms: i64, events: impl Iterator<Item = (Planned, String)>) -> String {
    let mut out = String::new();
    let mut line = |text: &str| fold(&mut out, text);
    line("BEGIN:VCALENDAR");
    line("VERSION:2.0");
    line("PRODID:-//Rattlewatch//Roster//EN");
    for (shift, title) in events {
        line("BEGIN:VEVENT");
        line(&format!("UID:{}@{}", shift.line, origin.replace('/', ".")));
        line(&format!("DTSTAMP:{}", utc(now_ms)));
        line(&format!("DTSTART:{}", utc(shift.from_ms)));
        line(&format!("DTEND:{}", utc(shift.until_ms)));
        line(&format!("SUMMARY:{}", escaped(&title)));
        line("END:VEVENT");
    }
    line("END:VCALENDAR");
    out
}

fn utc(at_ms: i64) -> String {
    let at = Timestamp::from_millisecond(at_ms).unwrap_or_default();
    at.strftime("%Y%m%dT%H%M%SZ").to_string()
}

/// RFC 5545, 3.3.11.
fn escaped(text: &str) -> String {
    text.replace('\\', "\\\\").replace(';', "\\;").replace(',', "\\,").replace('\n', "\\n")
}

/// RFC 5545, 3.1: longer lines go on after a line break and a space, never inside a character.
fn fold(out: &mut String, text: &str) {
    let mut width = 0;
    for c in text.chars() {
        if width + c.len_utf8() > LINE_MAX {
            out.push_str("\r\n ");
            width = 1;
        }
        out.push(c);
        width += c.len_utf8();
    }
    out.push_str("\r\n");
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 5545, 3.3.11 gives `Project XYZ Final Review\nConference Room - 3B\nCome Prepared.`
    #[test]
    fn text_is_escaped_and_folded_as_the_standard_says() {
        let text = "Project XYZ Final Review\nConference Room - 3B\nCome Prepared.";
        assert_eq!(
            escaped(text),
            r"Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
        );
        assert_eq!(escaped("a, b; c\\"), r"a\, b\; c\\");
        let mut out = String::new();
        fold(&mut out, &"é".repeat(60));
        assert!(out.split("\r\n").all(|line| line.len() <= LINE_MAX));
        assert_eq!(out.replace("\r\n ", "").trim_end(), "é".repeat(60), "unfolding gives it back");
        // 2007-07-14T17:00:00Z, from the example of 3.6.1.
        assert_eq!(utc(1_184_432_400_000), "20070714T170000Z");
    }
}

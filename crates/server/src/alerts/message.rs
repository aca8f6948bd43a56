//! What an alert says on its way: a few lines of text, or a message for a program.

use super::outbox::Outgoing;
use crate::page::time;
use crate::server::App;
use jiff::tz::TimeZone;
use rules::say::Say;
use serde_json::json;
use words::{Lang, alerts};

/// An alert as it leaves.
pub(crate) struct Message {
    /// One line.
    pub(crate) title: String,
    /// The rest, a sentence a line.
    pub(crate) lines: Vec<String>,
    pub(crate) link: String,
    /// The same for a program.
    pub(crate) data: serde_json::Value,
}

/// Puts an alert into words.
pub(crate) fn of(app: &App, item: &Outgoing, lang: Lang) -> Message {
    let book = app.book();
    let live = book.watch(&item.watch);
    let name = live.map_or(item.watch.to_string(), |live| live.documents.name().to_owned());
    let standing = live.map(|live| live.standing.clone()).unwrap_or_default();
    let tz = TimeZone::get(&standing.tz).unwrap_or(TimeZone::UTC);
    let zone = item.zone.as_ref().and_then(|z| Some(live?.documents.zone(z).to_owned()));
    let cause = item.cause.say(lang);
    let wrong = match &zone {
        Some(zone) => alerts::wrong_zone(lang, cause, zone),
        None => alerts::wrong(lang, cause),
    };
    let practice = match () {
        () if standing.drill => Some(words::terms_of_trade::drill(lang)),
        () if standing.demo => Some(words::desk::demo(lang)),
        () if standing.test => Some(words::desk::test_site(lang)),
        () => None,
    };
    let title = match (practice, item.withdrawn) {
        (Some(mark), false) => format!("{mark}: {name}: {wrong}"),
        (None, false) => format!("{name}: {wrong}"),
        (_, true) => alerts::title_withdrawn(lang, &name, &wrong),
    };
    let due = time::when(item.due_ms, &tz, app.clock.now_ms(), lang);
    let mut lines = vec![match item.withdrawn {
        true => alerts::withdrawn(lang).to_owned(),
        false => alerts::since(lang, &due, words::zone_place(&standing.tz)),
    }];
    for duty in standing.on_duty.iter().filter(|_| !item.withdrawn) {
        let person = book.people.get(&duty.who);
        let who = person.map_or("", |person| person.name.as_str());
        let number = person.map_or("", |person| person.number.as_str());
        // Whoever may be on the telephone with the fire service is not rung.
        lines.push(match number.is_empty() || standing.fire.is_some() {
            true => alerts::on_duty(lang, who),
            false => alerts::on_duty_ring(lang, number, who),
        });
    }
    let link = format!("{}/watch/{}", app.public(), item.watch);
    lines.push(alerts::take(lang, &link));
    let raised = if item.withdrawn { "alert.withdrawn" } else { "alert.raised" };
    let data = json!({
        "type": raised,
        "timestamp": rfc3339(item.made_ms),
        "data": {
            "watch": item.watch, "site": name, "cause": item.cause, "zone": item.zone,
            "zone_name": zone, "due": rfc3339(item.due_ms), "step": item.step,
            "alert": item.alert, "says": title, "link": link,
            "demo": standing.demo, "test": standing.test, "drill": standing.drill,
        },
    });
    Message { title, lines, link, data }
}

fn rfc3339(at_ms: i64) -> String {
    jiff::Timestamp::from_millisecond(at_ms).unwrap_or_default().to_string()
}

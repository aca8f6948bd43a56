//! `GET /metrics`: figures for Prometheus (text exposition format 0.0.4). No name of a person or place
//! stands in them.

use crate::alerts::Outgoing;
use crate::delivery::Delivery;
use crate::problem::Problem;
use crate::server::App;
use axum::extract::State;
use axum::http::header;
use axum::response::IntoResponse;
use record::Channel;
use std::fmt::Write as _;

/// Collects figures.
#[derive(Default)]
struct Page(String);

impl Page {
    fn head(&mut self, name: &str, kind: &str, help: &str) {
        let _ =
            writeln!(self.0, "# HELP rattlewatch_{name} {help}\n# TYPE rattlewatch_{name} {kind}");
    }

    fn value(&mut self, name: &str, labels: &str, value: impl std::fmt::Display) {
        let _ = writeln!(self.0, "rattlewatch_{name}{labels} {value}");
    }

    fn gauge(&mut self, name: &str, help: &str, value: impl std::fmt::Display) {
        self.head(name, "gauge", help);
        self.value(name, "", value);
    }
}

/// `GET /metrics`
pub(crate) async fn show(State(app): State<App>) -> Result<impl IntoResponse, Problem> {
    let now_ms = app.clock.now_ms();
    let mut page = Page::default();
    let head = app.store.head(&app.origin()).await?;
    page.head("log_lines", "counter", "Lines in the log.");
    page.value("log_lines", "", head.size);
    page.gauge("disk_free_bytes", "Room on the fullest disk.", app.store.room()?.free_bytes);
    watches(&app, now_ms, &mut page);
    let outgoing = app.settings.all::<Outgoing>().await?;
    let waiting = outgoing.iter().filter(|(_, item)| item.next_ms.is_some()).count();
    page.gauge("alerts_waiting", "Alerts that are still to be sent.", waiting);
    let deliveries = app.settings.all::<Delivery>().await?;
    let owed = deliveries.iter().filter(|(_, d)| d.due_ms.is_some_and(|due| due <= now_ms)).count();
    page.gauge("reports_owed", "Reports that should be out.", owed);
    ways(&app, &mut page);
    page.gauge("uptime_seconds", "Since the server started.", app.clock.mono_ms() / 1000);
    Ok(([(header::CONTENT_TYPE, "text/plain; version=0.0.4; charset=utf-8")], page.0))
}

fn watches(app: &App, now_ms: i64, page: &mut Page) {
    let book = app.book();
    let open = || book.watches().filter(|(_, live)| !live.standing.is_over(now_ms));
    let lasting = |taken: bool| {
        let alerts = open().flat_map(|(_, live)| live.standing.lasting(now_ms));
        alerts.filter(|alert| alert.taken.is_some() == taken).count()
    };
    page.gauge("watches", "Watches that run.", open().count());
    let here = book.watches().filter(|(_, live)| live.fold.is_some()).count();
    page.gauge("watches_in_memory", "Watches whose lines are in memory.", here);
    let late = open().filter(|(_, live)| !live.standing.over(now_ms).is_empty()).count();
    page.gauge("watches_late", "Watches with a zone over its gap.", late);
    page.head("alerts_lasting", "gauge", "Alerts whose cause lasts.");
    page.value("alerts_lasting", r#"{taken="no"}"#, lasting(false));
    page.value("alerts_lasting", r#"{taken="yes"}"#, lasting(true));
    let devices = || book.devices().filter(|(_, known)| !known.revoked);
    let in_touch = devices().filter(|(id, _)| book.in_touch(*id, now_ms)).count();
    page.gauge("devices", "Devices that may speak.", devices().count());
    page.gauge("devices_in_touch", "Devices heard within two minutes.", in_touch);
}

fn ways(app: &App, page: &mut Page) {
    let channels = [Channel::Mail, Channel::Webhook, Channel::Push, Channel::Phone];
    for (name, help, failed) in [
        ("messages_taken_total", "Messages that were taken, by channel.", false),
        ("messages_failed_total", "Tries that failed, by channel.", true),
    ] {
        page.head(name, "counter", help);
        for channel in channels {
            let way = app.ways.of(channel);
            let label = format!("{{channel=\"{}\"}}", crate::page::codes::value(channel));
            page.value(name, &label, if failed { way.failed } else { way.sent });
        }
    }
}

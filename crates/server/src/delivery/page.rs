//! The page *Delivery*: where reports go, and what became of each.

use super::{Delivery, Report};
use crate::account::Caller;
use crate::alerts::{Address, Outgoing};
use crate::house::{self, House};
use crate::page::form::Field;
use crate::page::{Place, Reader, frame};
use crate::people;
use crate::problem::Problem;
use crate::server::App;
use axum::Form;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};
use record::Channel;
use rules::say::Say;
use serde::Deserialize;
use std::collections::BTreeMap;
use words::{Lang, alerts, delivery, desk};

/// The form.
#[derive(Debug, Deserialize)]
pub(crate) struct Addresses {
    report_to: String,
    /// The house's language; as it was if the form does not say.
    #[serde(default)]
    lang: Option<Lang>,
}

/// `GET /delivery`
pub(crate) async fn list(State(app): State<App>, reader: Reader) -> Result<Markup, Problem> {
    let typed = app.house().report_to.join("\n");
    page(&app, &reader, &typed, None).await
}

/// `POST /delivery`: where reports go.
pub(crate) async fn settings(
    State(app): State<App>,
    reader: Reader,
    caller: Caller,
    Form(form): Form<Addresses>,
) -> Result<Response, Problem> {
    let addresses: Vec<String> = form
        .report_to
        .split([',', '\n', '\r'])
        .map(str::trim)
        .filter(|part| !part.is_empty())
        .map(str::to_owned)
        .collect();
    let is_mail = |text: &String| matches!(Address::read(text), Some(Address::Mail { .. }));
    if !addresses.iter().all(is_mail) {
        let fault = desk::address_wrong(reader.lang);
        return Ok(page(&app, &reader, &form.report_to, Some(fault)).await?.into_response());
    }
    let house = House::clone(&app.house());
    let lang = form.lang.unwrap_or(house.lang);
    let house = House { report_to: addresses, lang, ..house };
    app.settings.put(house::KEY, &house).await?;
    app.set_house(house);
    people::changed(&app, "report_to", &caller.id).await?;
    Ok(Redirect::to("/delivery").into_response())
}

/// `POST /delivery/{delivery}/again`: tried again at once.
pub(crate) async fn again(
    State(app): State<App>,
    Path(id): Path<String>,
) -> Result<Redirect, Problem> {
    let mut delivery = app.settings.get::<Delivery>(&id).await?.ok_or(Problem::NotFound)?;
    if delivery.sent_ms.is_none() {
        delivery.due_ms = Some(app.clock.now_ms());
        app.settings.put(&id, &delivery).await?;
    }
    Ok(Redirect::to("/delivery"))
}

async fn page(
    app: &App,
    reader: &Reader,
    typed: &str,
    fault: Option<&str>,
) -> Result<Markup, Problem> {
    let lang = reader.lang;
    let mut deliveries = app.settings.all::<Delivery>().await?;
    deliveries.sort_by_key(|(_, d)| std::cmp::Reverse(d.sent_ms.or(d.due_ms)));
    let reports: BTreeMap<String, Report> =
        app.settings.all::<Report>().await?.into_iter().collect();
    let mut outgoing = app.settings.all::<Outgoing>().await?;
    outgoing.sort_by_key(|(_, item)| std::cmp::Reverse(item.made_ms));
    let languages = people::languages();
    let body = html! {
        @if deliveries.is_empty() { p.lead.quiet { (desk::delivery_none(lang)) } }
        @else { (table(app, reader, &deliveries, &reports)) }
        @if app.options.smtp.is_none() { p { strong.ember { (desk::no_smtp(lang)) } } }
        (ways(app, reader))
        (sent_alerts(app, reader, &outgoing))
        @if reader.may("/delivery") {
            h2 { (desk::delivery_to(lang)) }
            form method="post" action="/delivery" {
                (Field::new("report_to", desk::report_to(lang), desk::report_to_why(lang))
                    .fault(fault).area(typed, 3))
                (Field::new("lang", alerts::house_language(lang), alerts::house_language_why(lang))
                    .choice(languages, app.house().lang.tag()))
                div.submit { button { (desk::save(lang)) } }
            }
        }
    };
    Ok(frame(reader, desk::place_delivery(lang), Place::Delivery, None, body))
}

/// How each channel does.
fn ways(app: &App, reader: &Reader) -> Markup {
    let lang = reader.lang;
    html! {
        h2 { (alerts::ways(lang)) }
        p { (alerts::ways_lead(lang)) " " a href="/alerts" { (alerts::title(lang)) } }
        div.scroll tabindex="0" role="region" aria-label=(alerts::ways(lang)) {
            table {
                thead {
                    tr {
                        th scope="col" { (alerts::way(lang)) }
                        th scope="col" { (alerts::way_sent(lang)) }
                        th scope="col" { (alerts::way_failed(lang)) }
                        th scope="col" { (alerts::way_state(lang)) }
                    }
                }
                tbody {
                    @for channel in [Channel::Mail, Channel::Webhook, Channel::Push, Channel::Phone] {
                        @let way = app.ways.of(channel);
                        tr {
                            th scope="row" { (channel.say(lang)) }
                            td.num { (way.sent) }
                            td.num { (way.failed) }
                            td {
                                @if way.is_ill() {
                                    strong.over { (alerts::way_ill(lang)) } " "
                                    (way.fault.as_deref().unwrap_or_default())
                                } @else if let Some(at_ms) = way.sent_ms {
                                    (desk::sent_at(lang, reader.when(at_ms)))
                                } @else { (alerts::way_unused(lang)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Alerts that left the desk, newest first.
fn sent_alerts(app: &App, reader: &Reader, items: &[(String, Outgoing)]) -> Markup {
    let lang = reader.lang;
    let book = app.book();
    let name = |item: &Outgoing| {
        book.watch(&item.watch).map_or(String::new(), |live| live.documents.name().to_owned())
    };
    html! {
        @if !items.is_empty() {
            h2 { (alerts::sent_alerts(lang)) }
            div.scroll tabindex="0" role="region" aria-label=(alerts::sent_alerts(lang)) {
                table {
                    thead {
                        tr {
                            th scope="col" { (desk::site(lang)) }
                            th scope="col" { (alerts::what(lang)) }
                            th scope="col" { (alerts::way(lang)) }
                            th scope="col" { (desk::delivery_whom(lang)) }
                            th scope="col" { (desk::delivery_state(lang)) }
                        }
                    }
                    tbody {
                        @for (_, item) in items.iter().take(SHOWN_MAX) {
                            tr {
                                th scope="row" { a href={ "/watch/" (item.watch) } { (name(item)) } }
                                td {
                                    @if item.withdrawn { (alerts::withdrawn_mark(lang)) " " }
                                    (item.cause.say(lang))
                                }
                                td { (item.to.channel().say(lang)) }
                                td { (whom(lang, item)) }
                                td { (item_state(reader, item)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Alerts that are shown; older ones are in the record.
const SHOWN_MAX: usize = 50;

fn whom(lang: Lang, item: &Outgoing) -> String {
    match &item.to {
        Address::Push { phone: true, .. } => alerts::whom_phone(lang).to_owned(),
        Address::Push { .. } => alerts::browser(lang).to_owned(),
        // What stands behind the host may be a secret of the receiver's.
        Address::Webhook { url } => url.splitn(4, '/').take(3).collect::<Vec<_>>().join("/"),
        Address::Mail { to, .. } => to.clone(),
    }
}

fn item_state(reader: &Reader, item: &Outgoing) -> Markup {
    let lang = reader.lang;
    html! {
        @if let Some(sent_ms) = item.sent_ms { (desk::sent_at(lang, reader.when(sent_ms))) }
        @else if item.next_ms.is_none() { (alerts::not_needed(lang)) }
        @else if let Some(fault) = &item.fault {
            strong.over { (desk::not_sent(lang, item.tries)) } " " (fault)
        }
        @else { (desk::sending(lang)) }
    }
}

fn table(
    app: &App,
    reader: &Reader,
    deliveries: &[(String, Delivery)],
    reports: &BTreeMap<String, Report>,
) -> Markup {
    let lang = reader.lang;
    let book = app.book();
    let what = |d: &Delivery| match d.report.as_ref().and_then(|id| reports.get(id)) {
        Some(report) => report.says(lang, &reader.tz),
        None => delivery::report(lang).to_owned(),
    };
    let name = |d: &Delivery| {
        book.watch(&d.watch).map_or(String::new(), |live| live.documents.name().to_owned())
    };
    html! {
        div.scroll tabindex="0" role="region" aria-label=(desk::place_delivery(lang)) {
            table {
                thead {
                    tr {
                        th scope="col" { (desk::site(lang)) }
                        th scope="col" { (delivery::column(lang)) }
                        th scope="col" { (desk::delivery_whom(lang)) }
                        th scope="col" { (desk::delivery_state(lang)) }
                    }
                }
                tbody {
                    @for (id, sent) in deliveries {
                        tr {
                            th scope="row" { a href={ "/watch/" (sent.watch) } { (name(sent)) } }
                            td { (what(sent)) }
                            td { (sent.to) }
                            td { (state(reader, id, sent)) }
                        }
                    }
                }
            }
        }
    }
}

fn state(reader: &Reader, id: &str, delivery: &Delivery) -> Markup {
    let lang = reader.lang;
    html! {
        @if let Some(sent_ms) = delivery.sent_ms { (desk::sent_at(lang, reader.when(sent_ms))) }
        @else if let Some(fault) = &delivery.fault {
            strong.over { (desk::not_sent(lang, delivery.tries)) } " " (fault)
            @if reader.may("/delivery/{delivery}/again") {
                form method="post" action={ "/delivery/" (id) "/again" } { button { (desk::again(lang)) } }
            }
        }
        @else { (desk::sending(lang)) }
    }
}

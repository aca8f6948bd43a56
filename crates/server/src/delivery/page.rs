//! The page *Delivery*: where reports go, and what became of each.

use super::Delivery;
use crate::account::Caller;
use crate::house::{self, House};
use crate::page::form::Field;
use crate::page::{Place, Reader, frame};
use crate::people;
use crate::problem::Problem;
use crate::server::App;
use axum::Form;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Redirect, Response};
use lettre::Address;
use maud::{Markup, html};
use serde::Deserialize;
use words::desk;

/// The form.
#[derive(Debug, Deserialize)]
pub(crate) struct Addresses {
    report_to: String,
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
        .split(|c: char| c == ',' || c.is_whitespace())
        .filter(|part| !part.is_empty())
        .map(str::to_owned)
        .collect();
    if addresses.iter().any(|address| address.parse::<Address>().is_err()) {
        let fault = desk::address_wrong(reader.lang);
        return Ok(page(&app, &reader, &form.report_to, Some(fault)).await?.into_response());
    }
    let house = House { report_to: addresses, ..House::clone(&app.house()) };
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
    let body = html! {
        @if deliveries.is_empty() { p.lead.quiet { (desk::delivery_none(lang)) } }
        @else { (table(app, reader, &deliveries)) }
        @if app.options.smtp.is_none() { p { strong.ember { (desk::no_smtp(lang)) } } }
        @if reader.may("/delivery") {
            h2 { (desk::delivery_to(lang)) }
            form method="post" action="/delivery" {
                (Field::new("report_to", desk::report_to(lang), desk::report_to_why(lang))
                    .fault(fault).area(typed, 3))
                div.submit { button { (desk::save(lang)) } }
            }
        }
    };
    Ok(frame(reader, desk::place_delivery(lang), Place::Delivery, None, body))
}

fn table(app: &App, reader: &Reader, deliveries: &[(String, Delivery)]) -> Markup {
    let lang = reader.lang;
    let book = app.book();
    let name = |d: &Delivery| {
        book.watch(&d.watch).map_or(String::new(), |live| live.documents.name().to_owned())
    };
    html! {
        div.scroll tabindex="0" role="region" aria-label=(desk::place_delivery(lang)) {
            table {
                thead {
                    tr {
                        th scope="col" { (desk::site(lang)) }
                        th scope="col" { (desk::delivery_number(lang)) }
                        th scope="col" { (desk::delivery_whom(lang)) }
                        th scope="col" { (desk::delivery_state(lang)) }
                    }
                }
                tbody {
                    @for (id, delivery) in deliveries {
                        tr {
                            th scope="row" { a href={ "/watch/" (delivery.watch) } { (name(delivery)) } }
                            td.num { (delivery.number) }
                            td { (delivery.to) }
                            td { (state(reader, id, delivery)) }
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

//! The pages *Who is alerted*: the house's ladder and a watch's own.

use super::address::{self, Address};
use super::ladder::{self, Ladder, Step, Whom};
use crate::account::Caller;
use crate::delivery::{mail, push, webhook};
use crate::one_watch;
use crate::page::form::Field;
use crate::page::{Place, Reader, frame};
use crate::people;
use crate::problem::Problem;
use crate::server::App;
use axum::Form;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Redirect, Response};
use ledger::WatchId;
use maud::{Markup, html};
use std::collections::BTreeMap;
use words::{Lang, alerts};

/// Everything that was typed, by field.
type Typed = BTreeMap<String, String>;

/// The longest wait that can be set, minutes: a week.
const WAIT_MAX_MIN: u32 = 7 * 24 * 60;
/// Addresses of one step.
const ADDRESSES_MAX: usize = 20;

/// `GET /alerts`
pub(crate) async fn house(State(app): State<App>, reader: Reader) -> Result<Markup, Problem> {
    let typed = typed(app.book().ladders.house());
    page(&app, &reader, None, &typed, &BTreeMap::new()).await
}

/// `POST /alerts`
pub(crate) async fn keep_house(
    State(app): State<App>,
    reader: Reader,
    caller: Caller,
    Form(form): Form<Typed>,
) -> Result<Response, Problem> {
    let (ladder, faults) = read(reader.lang, &form);
    if !faults.is_empty() {
        return Ok(page(&app, &reader, None, &form, &faults).await?.into_response());
    }
    ladder::keep(&app, None, ladder).await?;
    people::changed(&app, "alerts", &caller.id).await?;
    Ok(Redirect::to("/alerts").into_response())
}

/// `GET /watch/{watch}/alerts`
pub(crate) async fn of_watch(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
) -> Result<Markup, Problem> {
    let seen = one_watch::find(&app, &id, &caller, reader.now_ms).await?;
    let typed = typed(app.book().ladders.of(&seen.id));
    page(&app, &reader, Some(&seen.id), &typed, &BTreeMap::new()).await
}

/// `POST /watch/{watch}/alerts`
pub(crate) async fn keep_own(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
    Form(form): Form<Typed>,
) -> Result<Response, Problem> {
    let seen = one_watch::find(&app, &id, &caller, reader.now_ms).await?;
    let to = format!("/watch/{}/alerts", seen.id);
    if form.contains_key("as_house") {
        ladder::drop_own(&app, &seen.id).await?;
    } else {
        let (ladder, faults) = read(reader.lang, &form);
        if !faults.is_empty() {
            let again = page(&app, &reader, Some(&seen.id), &form, &faults).await?;
            return Ok(again.into_response());
        }
        ladder::keep(&app, Some(&seen.id), ladder).await?;
    }
    people::changed(&app, "alerts", &caller.id).await?;
    Ok(Redirect::to(&to).into_response())
}

/// `POST /alerts/secret`: a new secret for webhooks.
pub(crate) async fn renew_secret(
    State(app): State<App>,
    caller: Caller,
) -> Result<Redirect, Problem> {
    webhook::Secret::renew(&app).await?;
    people::changed(&app, "webhook_secret", &caller.id).await?;
    Ok(Redirect::to("/alerts"))
}

/// `POST /alerts/try`: a message to every address of the house's ladder, and what became of each.
pub(crate) async fn try_out(
    State(app): State<App>,
    reader: Reader,
    caller: Caller,
) -> Result<Markup, Problem> {
    app.limits.try_out(caller.id.as_str())?;
    let lang = reader.lang;
    let steps = app.book().ladders.house().steps.clone();
    let nobody = crate::standing::Standing::default();
    let mut told = Vec::new();
    for step in steps {
        for to in address::of_step(&app, &nobody, None, &step).await? {
            let fault = send_trial(&app, &to).await.err().map(|problem| problem.to_string());
            app.ways.note(to.channel(), app.clock.now_ms(), fault.clone());
            told.push((to, fault));
        }
    }
    let body = html! {
        @if told.is_empty() { p.lead.quiet { (alerts::try_nobody(lang)) } }
        ul.kept {
            @for (to, fault) in &told {
                li {
                    strong { (shown(lang, to)) }
                    p {
                        @match fault {
                            None => (alerts::try_sent(lang)),
                            Some(fault) => { strong.over { (alerts::way_ill(lang)) } " " (fault) }
                        }
                    }
                }
            }
        }
        p { a href="/alerts" { (alerts::title(lang)) } }
    };
    Ok(frame(&reader, alerts::try_out(lang), Place::Delivery, None, body))
}

async fn send_trial(app: &App, to: &Address) -> Result<(), Problem> {
    let house = app.house();
    let key = crate::secret::id("try");
    match to {
        Address::Mail { to, lang } => {
            let lang = lang.unwrap_or(house.lang);
            let (subject, text) =
                (alerts::trial(lang).to_owned(), alerts::trial_text(lang, &house.name));
            mail::send(app, mail::Mail { key: Some(key), to: to.clone(), subject, text, pdf: None })
                .await
        }
        Address::Webhook { url } => {
            let body = serde_json::json!({ "type": "trial", "data": { "house": house.name } });
            webhook::send(app, url, &key, &body).await
        }
        Address::Push { key: browser, .. } => {
            let Some(kept) = app.settings.get::<push::Subscription>(browser).await? else {
                return Err(Problem::NotFound);
            };
            let body = serde_json::json!({
                "key": key, "title": alerts::trial(house.lang), "link": app.public(),
                "text": alerts::trial_text(house.lang, &house.name),
            });
            push::send(app, &kept, "trial", &body).await.map(|_| ())
        }
    }
}

fn shown(lang: Lang, to: &Address) -> String {
    match to {
        Address::Push { .. } => alerts::browser(lang).to_owned(),
        other => other.text().to_owned(),
    }
}

/// The name of a step's fields.
fn name(whom: Whom) -> &'static str {
    match whom {
        Whom::Phone => "phone",
        Whom::Rota => "rota",
        Whom::Supervisor => "supervisor",
        Whom::Client => "client",
    }
}

fn title_of(lang: Lang, whom: Whom) -> (&'static str, &'static str) {
    match whom {
        Whom::Phone => (alerts::whom_phone(lang), alerts::whom_phone_why(lang)),
        Whom::Rota => (alerts::whom_rota(lang), alerts::whom_rota_why(lang)),
        Whom::Supervisor => (alerts::whom_supervisor(lang), alerts::whom_supervisor_why(lang)),
        Whom::Client => (alerts::whom_client(lang), alerts::whom_client_why(lang)),
    }
}

/// The other waits: field, what it is called, why, how it is read from a ladder.
type Wait = (&'static str, fn(Lang) -> &'static str, fn(Lang) -> &'static str);
const WAITS: [Wait; 6] = [
    ("due_soon", alerts::due_soon, alerts::due_soon_why),
    ("relief", alerts::relief, alerts::relief_why),
    ("observation", alerts::observation, alerts::observation_why),
    ("notification", alerts::notification, alerts::notification_why),
    ("delivery", alerts::delivery, alerts::delivery_why),
    ("life", alerts::life, alerts::life_why),
];

fn wait_mut<'l>(ladder: &'l mut Ladder, field: &str) -> &'l mut u32 {
    match field {
        "due_soon" => &mut ladder.due_soon_s,
        "relief" => &mut ladder.relief_s,
        "observation" => &mut ladder.observation_s,
        "notification" => &mut ladder.notification_s,
        "delivery" => &mut ladder.delivery_s,
        _ => &mut ladder.life_s,
    }
}

fn typed(ladder: &Ladder) -> Typed {
    let mut typed = Typed::new();
    for step in &ladder.steps {
        typed.insert(format!("wait_{}", name(step.whom)), (step.wait_s / 60).to_string());
        typed.insert(format!("to_{}", name(step.whom)), step.to.join("\n"));
    }
    let mut ladder = ladder.clone();
    for (field, ..) in WAITS {
        typed.insert(field.to_owned(), (*wait_mut(&mut ladder, field) / 60).to_string());
    }
    typed
}

/// Reads a ladder; with faults by field, the ladder counts for nothing.
fn read(lang: Lang, typed: &Typed) -> (Ladder, BTreeMap<String, &'static str>) {
    let mut faults = BTreeMap::new();
    let mut wait_s = |field: &str| {
        let text = typed.get(field).map_or("", |text| text.trim());
        match text.parse::<u32>().ok().filter(|minutes| *minutes <= WAIT_MAX_MIN) {
            Some(minutes) => minutes * 60,
            None => {
                faults.insert(field.to_owned(), alerts::wait_wrong(lang));
                0
            }
        }
    };
    let mut ladder = Ladder { steps: Vec::new(), ..Ladder::default() };
    for whom in Whom::ALL {
        let wait_s = wait_s(&format!("wait_{}", name(whom)));
        let text = typed.get(&format!("to_{}", name(whom))).map_or("", String::as_str);
        let lines = text.lines().map(str::trim).filter(|line| !line.is_empty());
        ladder.steps.push(Step { whom, wait_s, to: lines.map(str::to_owned).collect() });
    }
    for (field, ..) in WAITS {
        *wait_mut(&mut ladder, field) = wait_s(field);
    }
    for step in &ladder.steps {
        let fits = step.to.iter().all(|line| Address::read(line).is_some());
        if !fits || step.to.len() > ADDRESSES_MAX {
            faults.insert(format!("to_{}", name(step.whom)), alerts::address_wrong(lang));
        }
    }
    (ladder, faults)
}

async fn page(
    app: &App,
    reader: &Reader,
    watch: Option<&WatchId>,
    typed: &Typed,
    faults: &BTreeMap<String, &'static str>,
) -> Result<Markup, Problem> {
    let lang = reader.lang;
    let path = watch.map_or("/alerts".to_owned(), |id| format!("/watch/{id}/alerts"));
    let rule = if watch.is_some() { "/watch/{watch}/alerts" } else { "/alerts" };
    let may_keep = reader.may(rule);
    let lead = match watch {
        None => alerts::lead(lang),
        Some(id) if app.book().ladders.has_own(id) => alerts::lead_own(lang),
        Some(_) => alerts::lead_as_house(lang),
    };
    let secret = match watch.is_none() && reader.may("/alerts/secret") {
        true => Some(webhook::Secret::of(app).await?.text),
        false => None,
    };
    let name = watch.map(|id| {
        app.book().watch(id).map_or(String::new(), |live| live.documents.name().to_owned())
    });
    let body = html! {
        p.lead { (lead) }
        form method="post" action=(path) {
            fieldset.plain disabled[!may_keep] { (fields(lang, typed, faults)) }
            @if may_keep {
                div.submit {
                    button.main { (words::desk::save(lang)) }
                    @if watch.is_some() {
                        " " button name="as_house" value="1" formnovalidate { (alerts::as_house(lang)) }
                    }
                }
            }
        }
        @if watch.is_none() && may_keep {
            form method="post" action="/alerts/try" {
                h2 { (alerts::try_out(lang)) }
                p { (alerts::try_why(lang)) }
                div.submit { button { (alerts::try_out(lang)) } }
            }
        }
        @if let Some(secret) = secret {
            form method="post" action="/alerts/secret" {
                h2 { (alerts::secret(lang)) }
                p { (alerts::secret_why(lang)) }
                p.link { (secret) }
                div.submit { button { (alerts::secret_renew(lang)) } }
            }
        }
        @if let (Some(id), Some(name)) = (watch, &name) {
            p { a href={ "/watch/" (id) } { (words::desk::back_to(lang, name)) } }
        }
    };
    Ok(frame(reader, alerts::title(lang), Place::Delivery, None, body))
}

fn fields(lang: Lang, typed: &Typed, faults: &BTreeMap<String, &'static str>) -> Markup {
    let value = |field: &str| typed.get(field).map_or("", String::as_str);
    let fault = |field: &str| faults.get(field).copied();
    html! {
        @for whom in Whom::ALL {
            @let (title, why) = title_of(lang, whom);
            @let (wait, to) = (format!("wait_{}", name(whom)), format!("to_{}", name(whom)));
            h2 { (title) }
            (Field::new(&wait, alerts::wait(lang), alerts::wait_why(lang)).fault(fault(&wait))
                .number(value(&wait), 0, i64::from(WAIT_MAX_MIN)))
            @if whom == Whom::Phone { p.why { (why) } }
            @else {
                (Field::new(&to, alerts::to(lang), why).fault(fault(&to)).area(value(&to), 3))
            }
        }
        h2 { (alerts::waits(lang)) }
        @for (field, title, why) in WAITS {
            (Field::new(field, title(lang), why(lang)).fault(fault(field))
                .number(value(field), 0, i64::from(WAIT_MAX_MIN)))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ladder_reads_back_as_it_is_shown() {
        let mut ladder = Ladder::default();
        ladder.steps[1].to =
            vec!["ana@example.org es".to_owned(), "https://a.example/x".to_owned()];
        let (read, faults) = read(Lang::En, &typed(&ladder));
        assert_eq!(read, ladder);
        assert!(faults.is_empty());
    }

    #[test]
    fn each_fault_stands_at_its_field() {
        let mut form = typed(&Ladder::default());
        form.insert("to_rota".to_owned(), "http://10.0.0.1/hook".to_owned());
        form.insert("life".to_owned(), "soon".to_owned());
        let (_, faults) = read(Lang::En, &form);
        assert_eq!(faults.into_keys().collect::<Vec<_>>(), ["life", "to_rota"]);
    }
}

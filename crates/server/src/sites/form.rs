//! Making and changing a site: one form.

use super::site::{Practice, Site, SiteContact};
use crate::account::Caller;
use crate::page::form::{Field, checks};
use crate::page::typed::{Faults, Typed};
use crate::page::{Place, Reader, codes, frame};
use crate::people;
use crate::problem::Problem;
use crate::secret;
use crate::server::App;
use axum::Form;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::tz::TimeZone;
use maud::{Markup, html};
use record::{Party, Words};
use rules::say::Say;
use words::{Lang, desk, desk_sites};

/// Blank contacts under those that are there.
const BLANK_CONTACTS: usize = 2;
/// The most contacts of one site.
const CONTACTS_MAX: usize = 40;

/// `GET /sites/new`
pub(crate) async fn new(reader: Reader) -> Markup {
    let mut typed = Typed::default();
    typed.set("tz", reader.tz_name.clone());
    typed.set("emergency", "911");
    page(&reader, None, &typed, &Faults::new())
}

/// `POST /sites/new`
pub(crate) async fn add(
    State(app): State<App>,
    reader: Reader,
    caller: Caller,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, Problem> {
    let typed = Typed::read(pairs);
    match site(&typed, Site::default(), reader.lang) {
        Err(faults) => {
            let page = page(&reader, None, &typed, &faults);
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
        }
        Ok(site) => {
            let id = secret::id("s");
            app.settings.add(&id, &site).await?;
            people::changed(&app, "site", &caller.id).await?;
            Ok(Redirect::to(&format!("/sites/{id}")).into_response())
        }
    }
}

/// `GET /sites/{site}/edit`
pub(crate) async fn edit(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
) -> Result<Markup, Problem> {
    let site = app.settings.get::<Site>(&id).await?.ok_or(Problem::NotFound)?;
    Ok(page(&reader, Some(&id), &filled(&site), &Faults::new()))
}

/// `POST /sites/{site}/edit`
pub(crate) async fn change(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, Problem> {
    let before = app.settings.get::<Site>(&id).await?.ok_or(Problem::NotFound)?;
    let typed = Typed::read(pairs);
    match site(&typed, before, reader.lang) {
        Err(faults) => {
            let page = page(&reader, Some(&id), &typed, &faults);
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
        }
        Ok(site) => {
            app.settings.put(&id, &site).await?;
            people::changed(&app, "site", &caller.id).await?;
            Ok(Redirect::to(&format!("/sites/{id}")).into_response())
        }
    }
}

fn filled(site: &Site) -> Typed {
    let mut typed = Typed::default();
    for (name, value) in [
        ("name", site.name.clone()),
        ("address", site.address.clone()),
        ("town", site.town.clone()),
        ("tz", site.tz.clone()),
        ("buildings", site.buildings.join("\n")),
        ("cross_street", site.cross_street.clone()),
        ("emergency", site.emergency.clone()),
        ("practice", site.practice.value().to_owned()),
        ("meet", site.meet.clone()),
        (
            "people_about",
            if site.people_about > 0 { site.people_about.to_string() } else { String::new() },
        ),
        ("asleep", if site.asleep { "yes".to_owned() } else { String::new() }),
        ("client", site.client.clone()),
        ("call_spots", site.call_spots.join("\n")),
        ("equipment", site.equipment.join("\n")),
    ] {
        typed.set(name, value);
    }
    for (i, contact) in site.contacts.iter().enumerate() {
        typed.set(&format!("party-{i}"), codes::value(contact.party));
        typed.set(&format!("contact-{i}"), contact.name.clone());
        typed.set(&format!("number-{i}"), contact.number.clone());
        typed.set(&format!("account-{i}"), contact.account.clone());
    }
    typed
}

/// Reads the form over what was there.
pub(super) fn site(typed: &Typed, before: Site, lang: Lang) -> Result<Site, Faults> {
    let mut faults = Faults::new();
    for name in ["name", "address", "town"] {
        if typed.text(name).is_empty() {
            faults.insert(name, desk::needed(lang));
        }
    }
    if TimeZone::get(typed.get("tz")).is_err() {
        faults.insert("tz", desk::tz_unknown(lang));
    }
    let practice = Practice::read(typed.get("practice"));
    let emergency = typed.text("emergency");
    if practice == Practice::Earnest && !emergency.chars().any(|c| c.is_ascii_digit()) {
        faults.insert("emergency", desk::emergency_needed(lang));
    }
    let people_about = match typed.get("people_about") {
        "" => 0,
        typed => typed.parse().unwrap_or_else(|_| {
            faults.insert("people_about", words::desk_write::number_wrong(lang));
            0
        }),
    };
    if !faults.is_empty() {
        return Err(faults);
    }
    let lines = |name: &str| Words::from_text(typed.get(name)).words;
    Ok(Site {
        name: typed.text("name"),
        address: typed.text("address"),
        town: typed.text("town"),
        tz: typed.get("tz").to_owned(),
        buildings: lines("buildings"),
        cross_street: typed.text("cross_street"),
        emergency,
        practice,
        meet: typed.text("meet"),
        people_about,
        asleep: typed.get("asleep") == "yes",
        client: typed.text("client"),
        contacts: contacts(typed),
        call_spots: lines("call_spots"),
        equipment: lines("equipment"),
        ..before
    })
}

/// A contact without a name and without a number is one that was taken out.
fn contacts(typed: &Typed) -> Vec<SiteContact> {
    let of = |i: usize| {
        let field = |name: &str| typed.text(&format!("{name}-{i}"));
        let (name, number) = (field("contact"), field("number"));
        let party = codes::read(&field("party")).unwrap_or(Party::Other);
        let there = !name.is_empty() || !number.is_empty();
        there.then(|| SiteContact { party, name, number, account: field("account") })
    };
    (0..CONTACTS_MAX).filter_map(of).collect()
}

fn page(reader: &Reader, id: Option<&str>, typed: &Typed, faults: &Faults) -> Markup {
    let lang = reader.lang;
    let action = id.map_or("/sites/new".to_owned(), |id| format!("/sites/{id}/edit"));
    let text = |name: &'static str, label: &str, why: &str, needed: bool| {
        Field::new(name, label, why).fault(faults.get(name).copied()).text(
            "text",
            typed.get(name),
            needed,
        )
    };
    let area = |name: &'static str, label: &str, why: &str| {
        Field::new(name, label, why).area(typed.get(name), 3)
    };
    let practice = [
        (Practice::Earnest, desk::practice_real(lang)),
        (Practice::Demo, desk::practice_demo(lang)),
        (Practice::Test, desk::practice_test(lang)),
    ]
    .map(|(practice, word)| (practice.value().to_owned(), word));
    let body = html! {
        @if !faults.is_empty() { p.fault role="alert" { (desk_sites::look_below(lang)) } }
        form method="post" action=(action) {
            h2 { (desk::open_where(lang)) }
            (text("name", desk::site_name(lang), desk::site_name_why(lang), true))
            (text("address", desk::site_address(lang), desk::site_address_why(lang), true))
            (text("town", desk::site_town(lang), desk::site_town_why(lang), true))
            (text("cross_street", desk_sites::cross_street(lang), desk_sites::cross_street_why(lang), false))
            (text("tz", desk::site_tz(lang), desk::site_tz_why(lang), true))
            (area("buildings", desk_sites::buildings(lang), desk_sites::buildings_why(lang)))
            h2 { (desk_sites::in_emergency(lang)) }
            (text("emergency", desk::emergency(lang), desk::emergency_why(lang), false))
            (Field::new("practice", desk::practice(lang), desk::practice_why(lang))
                .choice(practice, typed.get("practice")))
            (text("meet", desk_sites::meet(lang), desk_sites::meet_why(lang), false))
            (Field::new("people_about", desk_sites::people_about(lang), desk_sites::people_about_why(lang))
                .fault(faults.get("people_about").copied()).number(typed.get("people_about"), 0, 100_000))
            (checks("asleep", desk::asleep(lang), desk::asleep_why(lang),
                [("yes".to_owned(), desk::asleep_yes(lang).to_owned())],
                |_| typed.get("asleep") == "yes"))
            (area("call_spots", desk_sites::call_spots(lang), desk_sites::call_spots_why(lang)))
            (area("equipment", desk_sites::equipment(lang), desk_sites::equipment_why(lang)))
            h2 { (desk_sites::contacts(lang)) }
            p.soft { (desk_sites::contacts_why(lang)) }
            (contact_rows(lang, typed))
            (text("client", desk_sites::client(lang), desk_sites::client_why(lang), false))
            div.submit { button.main { (desk::save(lang)) } }
        }
    };
    let title = if id.is_some() { typed.get("name") } else { desk_sites::new(lang) };
    frame(reader, title, Place::Sites, None, body)
}

/// One row of fields for each contact, and blank ones under them.
fn contact_rows(lang: Lang, typed: &Typed) -> Markup {
    let used = (0..CONTACTS_MAX).rev().find(|i| {
        !typed.get(&format!("contact-{i}")).is_empty()
            || !typed.get(&format!("number-{i}")).is_empty()
    });
    let rows = (used.map_or(0, |last| last + 1) + BLANK_CONTACTS).min(CONTACTS_MAX);
    html! {
        @for i in 0..rows {
            fieldset.contact {
                legend.quietly { (desk_sites::contact_number(lang, i as i64 + 1)) }
                @let party = format!("party-{i}");
                div {
                    label for=(party) { (desk_sites::party(lang)) }
                    select id=(party) name=(party) {
                        @for code in Party::ALL {
                            @let value = codes::value(code);
                            @let chosen = match typed.get(&party) { "" => code == Party::Owner, typed => typed == value };
                            option value=(value) selected[chosen] { (code.say(lang)) }
                        }
                    }
                }
                @for (name, label, kind) in [
                    ("contact", desk::person_name(lang), "text"),
                    ("number", desk::person_number(lang), "tel"),
                    ("account", desk_sites::account(lang), "text"),
                ] {
                    @let name = format!("{name}-{i}");
                    div {
                        label for=(name) { (label) }
                        input type=(kind) id=(name) name=(name) value=(typed.get(&name)) maxlength="200" autocomplete="off";
                    }
                }
            }
        }
    }
}

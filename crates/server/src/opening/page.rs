//! The page of the form.

use super::form::{fresh, wanted};
use super::walkable::Walk;
use super::{before, copied, order};
use crate::account::Caller;
use crate::page::form::{Field, checks};
use crate::page::typed::{Faults, Typed};
use crate::page::{Place, Reader, codes, frame, time};
use crate::people::languages;
use crate::problem::Problem;
use crate::server::App;
use axum::Form;
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Redirect, Response};
use floorplan::Plan;
use jiff::tz::TimeZone;
use maud::{Markup, html};
use record::{DemandFrom, Role, System};
use rules::Standards;
use rules::say::Say;
use serde::Deserialize;
use words::{Lang, desk, desk_opening, duration_words};

/// Opened at a site that is known.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct At {
    #[serde(default)]
    site: String,
}

/// `GET /watch/new`
pub(crate) async fn show(
    State(app): State<App>,
    reader: Reader,
    Query(at): Query<At>,
) -> Result<Markup, Problem> {
    let mut typed = fresh(&reader);
    if !at.site.is_empty() {
        copied::from_last_time(&app, &reader, &at.site, &mut typed).await?;
    }
    Ok(page(&app, &reader, &typed, &Faults::new(), html! {}))
}

/// `POST /watch/new`: says what it comes to, and opens the watch once that was seen.
pub(crate) async fn open(
    State(app): State<App>,
    reader: Reader,
    caller: Caller,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, Problem> {
    let typed = Typed::read(pairs);
    let wanted = match wanted(&typed, &reader) {
        Ok(wanted) => wanted,
        Err(faults) => {
            let says = html! { p.fault role="alert" { (desk::look_below(reader.lang)) } };
            return Ok(page(&app, &reader, &typed, &faults, says).into_response());
        }
    };
    let prepared = order::prepare(&app, &wanted, reader.lang).await?;
    let least_s = prepared.termed.set.gaps_s.values().min().copied().unwrap_or(wanted.gap_s);
    let walk = walk(&prepared, least_s).await?;
    let refused = !walk.fits() && typed.get("anyway") != "yes";
    if refused || typed.get("look") == "yes" {
        let says = html! {
            @if !walk.fits() { (cannot_be_walked(reader.lang, &prepared.plan, least_s, &walk)) }
            (before::says(&reader, &prepared, &walk, least_s))
        };
        return Ok(page(&app, &reader, &typed, &Faults::new(), says).into_response());
    }
    let done = order::place(&app, wanted, reader.lang, &caller.id).await?;
    let next = match done.enrolment {
        Some(digest) => format!("/enrolment/{digest}"),
        None if done.watches > 1 => "/roster".to_owned(),
        None => format!("/watch/{}", done.watch),
    };
    Ok(Redirect::to(&next).into_response())
}

/// Searching takes its time: it is done on a thread of its own.
async fn walk(prepared: &order::Prepared, least_s: u32) -> Result<Walk, Problem> {
    let (plan, gaps_s) = (prepared.plan.clone(), prepared.termed.set.gaps_s.clone());
    let walk = tokio::task::spawn_blocking(move || Walk::over(&plan, &gaps_s, least_s)).await;
    walk.map_err(|error| Problem::Machine(error.to_string()))
}

/// Said before the watch opens: a round that cannot be walked will not be walked.
fn cannot_be_walked(lang: Lang, plan: &Plan, gap_s: u32, walk: &Walk) -> Markup {
    let round = duration_words(i64::from(walk.round_s));
    let gap = duration_words(i64::from(gap_s));
    let places = plan.stops.len() as i64;
    html! {
        section.said role="alert" {
            @if walk.impossible {
                p.lead { strong { (desk_opening::nobody_can(lang)) } }
            } @else {
                p.lead { strong { (desk::walk_cannot(lang, gap, places, round)) } }
                p { (desk::walk_guards(lang, i64::from(walk.guards))) }
            }
            p.soft {
                @if walk.measured { (desk_opening::walk_measured(lang)) } @else { (desk::walk_assumes(lang)) }
            }
            label.check {
                input type="checkbox" name="anyway" value="yes" form="opening";
                span { (desk::walk_anyway(lang)) }
            }
        }
    }
}

fn page(app: &App, reader: &Reader, typed: &Typed, faults: &Faults, says: Markup) -> Markup {
    let lang = reader.lang;
    let tz = TimeZone::get(typed.get("tz")).unwrap_or(TimeZone::UTC);
    let body = html! {
        p.lead { (desk::open_lead(lang)) }
        (says)
        form #opening method="post" action="/watch/new" {
            @if !typed.get("site").is_empty() { input type="hidden" name="site" value=(typed.get("site")); }
            h2 { (desk::open_where(lang)) }
            (text(typed, faults, "name", desk::site_name(lang), desk::site_name_why(lang)))
            (text(typed, faults, "address", desk::site_address(lang), desk::site_address_why(lang)))
            (text(typed, faults, "town", desk::site_town(lang), desk::site_town_why(lang)))
            (text(typed, faults, "tz", desk::site_tz(lang), desk::site_tz_why(lang)))
            (emergency(lang, typed, faults))
            h2 { (desk::open_what(lang)) }
            @if typed.get("drawn") == "yes" {
                input type="hidden" name="drawn" value="yes";
                p { (desk_opening::zones_from_plan(lang)) }
            } @else {
            (Field::new("floors", desk::floors(lang), desk::floors_why(lang))
                .fault(faults.get("floors").copied()).number(typed.get("floors"), 0, 200))
            (Field::new("places", desk::places_more(lang), desk::places_more_why(lang))
                .area(typed.get("places"), 3))
            }
            (checks("out", desk::out(lang), desk::out_why(lang),
                System::ALL.map(|s| (codes::value(s), s.say(lang).to_owned())),
                |code| typed.chose("out", code)))
            (checks("asleep", desk::asleep(lang), desk::asleep_why(lang),
                [("yes".to_owned(), desk::asleep_yes(lang).to_owned())],
                |_| typed.get("asleep") == "yes"))
            (when(lang, typed, faults, "out_since", desk_opening::out_since(lang),
                desk_opening::out_since_why(lang), reader.now_ms, &tz))
            h2 { (desk_opening::rules(lang)) }
            (profiles(lang, typed))
            (text(typed, faults, "occupancy", desk_opening::occupancy(lang), desk_opening::occupancy_why(lang)))
            h2 { (desk::open_how(lang)) }
            (Field::new("gap_min", desk::gap(lang), desk::gap_why(lang))
                .fault(faults.get("gap_min").copied()).number(typed.get("gap_min"), 1, 1440))
            (Field::new("source_from", desk::gap_from(lang), desk::gap_from_why(lang))
                .choice(sources(lang), typed.get("source_from")))
            (text(typed, faults, "source", desk::gap_source(lang), desk::gap_source_why(lang)))
            (when(lang, typed, faults, "from", desk::from(lang), desk::from_why(lang), reader.now_ms, &tz))
            (when(lang, typed, faults, "until", desk::until(lang), desk::until_why(lang), reader.now_ms, &tz))
            (Field::new("hours", desk_opening::hours(lang), desk_opening::hours_why(lang))
                .fault(faults.get("hours").copied()).area(typed.get("hours"), 2))
            (Field::new("holidays", desk_opening::holidays(lang), desk_opening::holidays_why(lang))
                .fault(faults.get("holidays").copied()).area(typed.get("holidays"), 2))
            h2 { (desk::open_who(lang)) }
            (guard(app, lang, typed, faults))
            (text(typed, faults, "contact_name", desk::contact_name(lang), desk::contact_name_why(lang)))
            (text(typed, faults, "contact_number", desk::contact_number(lang), desk::contact_number_why(lang)))
            (Field::new("instructions", desk::instructions(lang), desk::instructions_why(lang))
                .area(typed.get("instructions"), 4))
            div.submit {
                button.main { (desk::open_do(lang)) }
                button name="look" value="yes" { (desk_opening::look_first(lang)) }
            }
        }
    };
    frame(reader, desk::open_watch(lang), Place::Watches, None, body)
}

fn text(typed: &Typed, faults: &Faults, name: &'static str, label: &str, why: &str) -> Markup {
    let required = matches!(name, "name" | "address" | "town" | "tz");
    Field::new(name, label, why).fault(faults.get(name).copied()).text(
        "text",
        typed.get(name),
        required,
    )
}

#[expect(clippy::too_many_arguments, reason = "one call each for the two ends of the watch")]
fn when(
    lang: Lang,
    typed: &Typed,
    faults: &Faults,
    name: &'static str,
    label: &str,
    why: &str,
    now_ms: i64,
    tz: &TimeZone,
) -> Markup {
    let why = format!("{why} {}", desk::now_there(lang, time::clock(now_ms, tz)));
    Field::new(name, label, &why).fault(faults.get(name).copied()).text(
        "datetime-local",
        typed.get(name),
        name == "from",
    )
}

fn emergency(lang: Lang, typed: &Typed, faults: &Faults) -> Markup {
    let kinds = [
        ("".to_owned(), desk::practice_real(lang)),
        ("demo".to_owned(), desk::practice_demo(lang)),
        ("test".to_owned(), desk::practice_test(lang)),
    ];
    html! {
        (Field::new("emergency", desk::emergency(lang), desk::emergency_why(lang))
            .fault(faults.get("emergency").copied()).text("tel", typed.get("emergency"), false))
        (Field::new("practice", desk::practice(lang), desk::practice_why(lang))
            .choice(kinds, typed.get("practice")))
    }
}

/// The published demands that hold there: a place, a code, or both.
fn profiles(lang: Lang, typed: &Typed) -> Markup {
    let known = Standards::embedded().profiles();
    let chosen = typed.all("profile");
    html! {
        @for (i, why) in [desk_opening::profile_why(lang), desk_opening::profile_more_why(lang)].iter().enumerate() {
            div.field {
                div {
                    label for={ "profile-" (i) } { (desk_opening::profile(lang)) }
                    select id={ "profile-" (i) } name="profile" aria-describedby={ "profile-" (i) "-why" } {
                        option value="" { (desk_opening::profile_none(lang)) }
                        @for profile in &known {
                            option value=(profile.title)
                                selected[chosen.get(i).is_some_and(|c| *c == profile.title)] { (profile.title) }
                        }
                    }
                }
                p.why id={ "profile-" (i) "-why" } { (why) }
            }
        }
    }
}

/// Where a demand comes from, as a form offers it.
pub(crate) fn sources(lang: Lang) -> [(String, &'static str); 5] {
    DemandFrom::ALL.map(|from| {
        let word = match from {
            DemandFrom::Code => desk::from_code(lang),
            DemandFrom::Authority => desk::from_authority(lang),
            DemandFrom::Client => desk::from_client(lang),
            DemandFrom::Contract => desk::from_contract(lang),
            DemandFrom::House => desk::from_house(lang),
        };
        (codes::value(from), word)
    })
}

fn guard(app: &App, lang: Lang, typed: &Typed, faults: &Faults) -> Markup {
    let book = app.book();
    let known: Vec<(String, String)> = book
        .people
        .iter()
        .filter(|(_, person)| !person.left && matches!(person.role, Role::Guard | Role::ShiftLead))
        .map(|(id, person)| (id.to_string(), person.name.clone()))
        .collect();
    let options = std::iter::once((String::new(), desk::guard_new(lang)))
        .chain(known.iter().map(|(id, name)| (id.clone(), name.as_str())));
    html! {
        @if !known.is_empty() {
            (Field::new("guard", desk::guard(lang), desk::guard_why(lang))
                .choice(options, typed.get("guard")))
        }
        (text(typed, faults, "guard_name", desk::guard_name(lang), desk::guard_name_why(lang)))
        (Field::new("guard_number", desk::person_number(lang), desk::guard_number_why(lang))
            .text("tel", typed.get("guard_number"), false))
        (Field::new("language", desk::person_language(lang), desk::person_language_why(lang))
            .choice(languages(), typed.get("language")))
    }
}

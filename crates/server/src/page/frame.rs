//! The frame of every page: one heading, five places, the time with date and zone.

use super::{Reader, time};
use crate::assets::address;
use maud::{DOCTYPE, Markup, html};
use words::{Lang, desk};

/// The five places.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Place {
    Watches,
    Roster,
    Sites,
    People,
    Delivery,
    /// A page before signing in, or one that belongs to none of the five.
    None,
}

impl Place {
    const ALL: [Place; 5] =
        [Place::Watches, Place::Roster, Place::Sites, Place::People, Place::Delivery];

    fn path(self) -> &'static str {
        match self {
            Place::Watches | Place::None => "/",
            Place::Roster => "/roster",
            Place::Sites => "/sites",
            Place::People => "/people",
            Place::Delivery => "/delivery",
        }
    }

    fn name(self, lang: Lang) -> &'static str {
        match self {
            Place::Watches | Place::None => desk::place_watches(lang),
            Place::Roster => desk::place_roster(lang),
            Place::Sites => desk::place_sites(lang),
            Place::People => desk::place_people(lang),
            Place::Delivery => desk::place_delivery(lang),
        }
    }
}

/// A whole page. `stream` is the path of its event stream, if it lives.
pub(crate) fn frame(
    reader: &Reader,
    title: &str,
    place: Place,
    stream: Option<&str>,
    body: Markup,
) -> Markup {
    let lang = reader.lang;
    html! {
        (DOCTYPE)
        html lang=(lang.tag()) class=[(!reader.light.is_empty()).then_some(reader.light)] {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="robots" content="noindex";
                title { (title) " · Rattlewatch" }
                link rel="icon" href=(address("mark.svg")) type="image/svg+xml";
                link rel="stylesheet" href=(address("tokens.css"));
                link rel="stylesheet" href=(address("desk.css"));
                @if stream.is_some() {
                    noscript { meta http-equiv="refresh" content="20"; }
                    script src=(address("desk.js")) defer {}
                }
            }
            body {
                a.skip href="#main" { (desk::skip(lang)) }
                header.top {
                    h1 { (title) }
                    @if reader.caller.is_some() { (places(reader, place)) }
                    (now(reader))
                }
                @if let Some(path) = stream {
                    // Filled and uncovered by desk.js when the stream breaks.
                    p #stopped .stopped hidden role="alert"
                        data-stream=(path) data-words=(desk::stopped(lang, "{time}")) {}
                }
                @if reader.waiting > 0 && reader.may_open("/second") {
                    p.waits role="status" {
                        a href="/second" { (words::second::waits(lang, reader.waiting as i64)) }
                    }
                }
                main id="main" { (body) }
                (foot(reader))
            }
        }
    }
}

/// The places that the reader may go to.
fn places(reader: &Reader, here: Place) -> Markup {
    let lang = reader.lang;
    html! {
        nav aria-label=(desk::places(lang)) {
            ul {
                @for place in Place::ALL.into_iter().filter(|place| reader.may_open(place.path())) {
                    li {
                        a href=(place.path()) aria-current=[(place == here).then_some("page")] {
                            (place.name(lang))
                        }
                    }
                }
            }
        }
    }
}

/// The house's time, for the page and for its event stream.
pub(crate) fn now(reader: &Reader) -> Markup {
    let date = time::date(reader.now_ms, &reader.tz, reader.lang);
    html! {
        p #now .now {
            time { (reader.clock(reader.now_ms)) }
            " " (date) ", " (words::zone_place(&reader.tz_name))
        }
    }
}

fn foot(reader: &Reader) -> Markup {
    let lang = reader.lang;
    html! {
        footer {
            form.look method="post" action="/look" {
                input type="hidden" name="back" value=(reader.path);
                @for other in Lang::ALL.into_iter().filter(|other| *other != lang) {
                    button name="lang" value=(other.tag()) lang=(other.tag()) {
                        (desk::this_language(other))
                    }
                }
                @for (value, word) in [
                    ("night", desk::light_night(lang)),
                    ("day", desk::light_day(lang)),
                    ("auto", desk::light_auto(lang)),
                ] {
                    @let chosen = value == reader.light || (value == "auto" && reader.light.is_empty());
                    button name="light" value=(value) aria-pressed=(chosen) { (word) }
                }
            }
            @if let Some(caller) = &reader.caller {
                form method="post" action="/sign-out" {
                    a href="/account" { (caller.name) } " "
                    button { (desk::sign_out(lang)) }
                }
            }
            p.small { (words::terms_of_trade::local_codes_decide(lang)) }
        }
    }
}

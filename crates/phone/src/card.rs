//! The emergency card as the app leaves it for the static page: every word already rendered, so that
//! the page needs neither this program nor a network.

use crate::model::Model;
use crate::site::Site;
use record::System;
use record::documents::{Lifts, SiteCard};
use serde::{Deserialize, Serialize};
use words::{Lang, card as w};

/// What the static page shows. Field names are read by `card.js`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CardRecord {
    /// 1.
    pub v: u32,
    /// Language tag of the page.
    pub lang: String,
    /// The site's name.
    pub site: String,
    /// The site's time zone, by which the stamps on the page are told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zone: Option<String>,
    /// The number; none where nothing can be dialled.
    pub number: Option<String>,
    /// A drill goes on: the number is shown and not dialled until somebody says that this is real.
    pub drill: bool,
    /// The sentence to say, in English, in pieces.
    pub sentence: Vec<Piece>,
    /// The same in the guard's language, if that is another.
    pub meaning: Option<String>,
    /// How to say it, or what to do on the telephone.
    pub aid: String,
    /// Where the guard was last.
    pub last: String,
    /// Four orders; the first ends with words to shout.
    pub orders: Vec<String>,
    /// The words to shout and their language.
    pub shout: (String, String),
    /// Further cautions.
    pub more: Vec<String>,
    /// The stamps in the order in which they stand: stage and word.
    pub stamps: Vec<(String, String)>,
    /// Every other word of the page by its key.
    pub words: std::collections::BTreeMap<String, String>,
}

/// A piece of the sentence.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Piece {
    /// What must not be left out.
    Strong(String),
    /// What helps.
    Plain(String),
    /// To be filled by eye.
    Blank,
}

/// The card of the watch on the screen; none before its documents are here.
pub(crate) fn card(model: &Model) -> Option<CardRecord> {
    let state = model.state.as_ref()?;
    let opening = state.opening.as_ref()?;
    let site = Site::of(model, state)?;
    let card = model.documents.card(&opening.card)?;
    let lang = model.lang();
    let undiallable = opening.demo || opening.test;
    let last = site.last_seen(state).map_or_else(
        || w::no_stop(lang).to_owned(),
        |(name, at_ms)| w::last_stop(lang, name, words::clock(at_ms, model.tz_min)),
    );
    let own = model.draft.typed(crate::tap::Field::Reach);
    let sentence = sentence(Lang::En, card, &opening.out, own);
    let meaning = (lang != Lang::En).then(|| plain(&self::sentence(lang, card, &opening.out, own)));
    Some(CardRecord {
        v: 1,
        lang: lang.tag().to_owned(),
        site: card.name.clone(),
        zone: model.zone().map(str::to_owned),
        number: card.emergency_number.clone().filter(|_| !undiallable),
        drill: state.drill,
        sentence,
        meaning,
        aid: w::stay_on(lang).to_owned(),
        last,
        orders: orders(lang, card),
        shout: (w::shout(lang).to_owned(), w::shout_language(lang).to_owned()),
        more: more(lang, card),
        stamps: stamps(lang),
        words: page_words(lang),
    })
}

fn sentence(lang: Lang, card: &SiteCard, out: &[System], own: Option<&str>) -> Vec<Piece> {
    let place = match &card.cross_street {
        Some(cross) => w::place_corner(lang, &card.address, cross, &card.name, &card.town),
        None => w::place_plain(lang, &card.address, &card.name, &card.town),
    };
    let mut pieces = vec![
        Piece::Strong(w::say_fire_at(lang, place)),
        Piece::Plain(w::say_smoke_on(lang).to_owned()),
        Piece::Blank,
    ];
    if let Some(people) = card.people.filter(|people| people.about > 0) {
        let about = i64::from(people.about);
        pieces.push(Piece::Plain(match people.asleep {
            true => w::people_asleep(lang, about),
            false => w::people_inside(lang, about),
        }));
    }
    pieces.push(Piece::Strong(what_is_out(lang, out)));
    match card.callback.as_deref().or(own) {
        Some(number) => pieces.push(Piece::Plain(w::say_number(lang, number))),
        None => {
            pieces.push(Piece::Plain(w::say_number_blank(lang).to_owned()));
            pieces.push(Piece::Blank);
        }
    }
    if let Some(place) = &card.meet {
        pieces.push(Piece::Plain(w::say_meet(lang, place)));
    }
    pieces
}

fn plain(pieces: &[Piece]) -> String {
    let mut text = String::new();
    for piece in pieces {
        match piece {
            Piece::Strong(words) | Piece::Plain(words) => {
                text += if text.is_empty() { "" } else { " " };
                text += words;
            }
            Piece::Blank => text += " ___.",
        }
    }
    text
}

fn what_is_out(lang: Lang, out: &[System]) -> String {
    let named: Vec<&str> = out.iter().filter_map(|system| system_name(lang, *system)).collect();
    match named.as_slice() {
        [] if out.contains(&System::None) => w::say_no_system(lang).to_owned(),
        [] => w::say_watch(lang).to_owned(),
        [system] => w::say_out_one(lang, system),
        [first, second, ..] => w::say_out_two(lang, first, second),
    }
}

/// What a system is called in a spoken sentence.
fn system_name(lang: Lang, system: System) -> Option<&'static str> {
    Some(match system {
        System::FireAlarm => w::system_fire_alarm(lang),
        System::Sprinkler => w::system_sprinkler(lang),
        System::Standpipe => w::system_standpipe(lang),
        System::WaterSupply => w::system_water_supply(lang),
        System::SpecialHazard => w::system_special_hazard(lang),
        System::SmokeControl => w::system_smoke_control(lang),
        System::Monitoring => w::system_monitoring(lang),
        System::EmergencyLighting => w::system_emergency_lighting(lang),
        System::None => return None,
    })
}

fn orders(lang: Lang, card: &SiteCard) -> Vec<String> {
    let doors = match card.lifts {
        Lifts::Elevators => w::order_doors_elevators(lang),
        Lifts::Lifts => w::order_doors_lifts(lang),
    };
    let meet = match &card.meet {
        Some(place) => w::order_meet(lang, place),
        None => w::order_meet_outside(lang).to_owned(),
    };
    vec![w::order_shout(lang).to_owned(), doors.to_owned(), w::order_people(lang).to_owned(), meet]
}

fn more(lang: Lang, card: &SiteCard) -> Vec<String> {
    let no_signal = match card.call_spots.as_slice() {
        [] => w::no_signal_outside(lang).to_owned(),
        spots => w::no_signal(lang, spots.join(", ")),
    };
    vec![
        no_signal,
        w::more_gas(lang).to_owned(),
        w::more_extinguish(lang).to_owned(),
        w::more_above(lang).to_owned(),
        w::more_alarm(lang).to_owned(),
    ]
}

fn stamps(lang: Lang) -> Vec<(String, String)> {
    [
        ("seen", w::stamp_seen(lang)),
        ("called", w::stamp_called(lang)),
        ("alarmed", w::stamp_alarmed(lang)),
        ("engine_here", w::stamp_engine(lang)),
        ("out", w::stamp_out(lang)),
    ]
    .map(|(stage, word)| (stage.to_owned(), word.to_owned()))
    .to_vec()
}

fn page_words(lang: Lang) -> std::collections::BTreeMap<String, String> {
    [
        ("back", w::back(lang)),
        ("call_now", w::call_now(lang)),
        ("practise", w::practise(lang)),
        ("this_is_real", w::this_is_real(lang)),
        ("drill", w::drill(lang)),
        ("demo", w::demo(lang)),
        ("demo_why", w::demo_why(lang)),
        ("say_this", w::say_this(lang)),
        ("stamps", w::stamps(lang)),
        ("kept", w::kept(lang)),
        ("not_kept", w::not_kept(lang)),
    ]
    .map(|(key, word)| (key.to_owned(), word.to_owned()))
    .into()
}

//! What stands on the screen, as plain data: every word chosen, every control with what it says.
//!
//! A screen is a list of blocks from top to bottom. The edge draws blocks and decides nothing.

mod before;
mod correcting;
mod enrol;
mod hot_work;
mod observation;
mod paper;
mod pictures;
mod pieces;
mod pin;
mod plan;
mod relief;
mod round;
mod settings;
mod sheet;
mod shift;
mod top;
mod waiting;
mod write;

use crate::event::Purpose;
use crate::model::{Membership, Model, Notice, Started};
use crate::round::Stroke;
use crate::stored::Theme;
use crate::tap::{Field, Page, Place, Tap};
use std::sync::Arc;
use words::{Lang, phone as w};

/// One whole screen.
#[derive(Debug, Clone, PartialEq)]
pub struct View {
    /// Language of the words.
    pub lang: Lang,
    /// Light or dark.
    pub theme: Theme,
    /// The top line; none before a watch is known.
    pub top: Option<Top>,
    /// What stands below it.
    pub blocks: Vec<Block>,
    /// Name of the screen, for tests and for the window's title.
    pub name: &'static str,
    /// The fire bar's two lines.
    pub fire: (String, String),
    /// The three places; none before the phone is somebody's.
    pub places: Vec<PlaceTab>,
    /// Whether a shift is going on: no new version is forced then.
    pub on_duty: bool,
}

/// The top line.
#[derive(Debug, Clone, PartialEq)]
pub struct Top {
    /// The site.
    pub site: String,
    /// What is out.
    pub out: Option<String>,
    /// What has been sent.
    pub sent: String,
    /// Over everything in a drill, a demonstration or a test.
    pub band: Option<String>,
}

/// One of the three places.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaceTab {
    /// Which.
    pub place: Place,
    /// Its word.
    pub words: String,
    /// Whether it is the one on the screen.
    pub here: bool,
}

/// A piece of a screen.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// The burning lane with the words inside it.
    Lane(Lane),
    /// The tally of a round and what it says.
    Tally {
        /// One stroke for each stop.
        strokes: Vec<Stroke>,
        /// The same in words.
        says: String,
    },
    /// An ink rule.
    Rule,
    /// A heading, with a second line.
    Heading {
        /// For tests.
        id: &'static str,
        /// The words.
        text: String,
        /// Below it.
        second: Option<String>,
    },
    /// A smaller heading over what follows.
    Legend(String),
    /// A sentence.
    Words {
        /// For tests.
        id: &'static str,
        /// The words.
        text: String,
        /// How it is said.
        tone: Tone,
    },
    /// Large digits to be read aloud.
    Digits(String),
    /// One control over the full width.
    Act(Control),
    /// Controls side by side where there is room.
    Row(Vec<Control>),
    /// What was just said, and the control that takes it back.
    Said {
        /// What was said.
        text: String,
        /// Takes it back.
        control: Control,
    },
    /// Choices of one question.
    Choices {
        /// The question, for those who cannot see the screen.
        legend: String,
        /// The choices.
        controls: Vec<Control>,
    },
    /// A field to type into.
    Input {
        /// Which.
        field: Field,
        /// Its label.
        label: String,
        /// What stands in it when it appears.
        value: String,
        /// Several lines.
        lines: bool,
    },
    /// A number that the telephone dials.
    Ring {
        /// Its stable name, for tests.
        id: String,
        /// The words.
        words: String,
        /// A second line, beside the number.
        second: Option<String>,
        /// The number.
        number: String,
        /// What the touch says besides dialling.
        tap: Option<Tap>,
    },
    /// One level of the plan.
    Plan(PlanView),
    /// A camera that reads codes.
    Scanner {
        /// What to do.
        says: String,
        /// Whether it goes on after a code was read.
        goes_on: bool,
    },
    /// A code to be read by another phone.
    Code {
        /// Its text.
        text: String,
        /// What it is, for whoever cannot see it.
        says: String,
    },
    /// A photo to take.
    Camera {
        /// The words.
        words: String,
        /// What the photo is for.
        purpose: Purpose,
    },
    /// A field to sign in with the finger.
    Signature {
        /// The words.
        words: String,
    },
    /// Lines of the record.
    Lines(Vec<LineView>),
    /// A numbered or plain list of sentences.
    List {
        /// The sentences.
        items: Vec<String>,
    },
}

/// One level of the plan with the guard's round over it.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanView {
    /// The plan.
    pub plan: Arc<floorplan::Plan>,
    /// The level.
    pub level: floorplan::LevelId,
    /// The walks of the round on this level.
    pub walks: Vec<Vec<floorplan::Point>>,
    /// The walk to the next stop on this level.
    pub ahead: Vec<Vec<floorplan::Point>>,
    /// The stops on it.
    pub stops: Vec<PlanStop>,
    /// Only about the walk to the next stop, as large as it will go.
    pub near: bool,
    /// The same in words.
    pub says: String,
}

/// A stop on the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanStop {
    /// Where.
    pub at: floorplan::Point,
    /// Its number in the round, from 1.
    pub number: usize,
    /// How far it is.
    pub stroke: Stroke,
}

/// How a sentence is said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// As a second line.
    Soft,
    /// As a sentence.
    Plain,
    /// It must not be missed.
    Ember,
    /// Spoken by screen readers when it changes.
    Live,
}

/// The lane.
#[derive(Debug, Clone, PartialEq)]
pub struct Lane {
    /// One turn, s.
    pub allowed_s: i64,
    /// What is left, s; below zero it is over.
    pub left_s: i64,
    /// The large words.
    pub big: String,
    /// The small words.
    pub small: String,
    /// Whether the gap is over.
    pub over: bool,
}

/// Something to touch.
#[derive(Debug, Clone, PartialEq)]
pub struct Control {
    /// Its stable name, for tests.
    pub id: String,
    /// The words on it.
    pub words: String,
    /// A second line.
    pub second: Option<String>,
    /// What the touch says.
    pub tap: Tap,
    /// How it looks.
    pub weight: Weight,
    /// Whether it is chosen, for one that stays chosen.
    pub chosen: Option<bool>,
}

/// How a control looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    /// The one lamp-coloured control of the screen, 96 px high.
    Main,
    /// An outlined one, 56 px high.
    Plain,
    /// Words with a line under them.
    Quiet,
}

/// A line of the record on the screen.
#[derive(Debug, Clone, PartialEq)]
pub struct LineView {
    /// When.
    pub time: String,
    /// What.
    pub what: String,
    /// Typed words.
    pub words: Option<String>,
    /// *saved* or *sent*; none for others' lines.
    pub state: Option<String>,
    /// What a touch on it opens; none where nothing can be said about it.
    pub open: Option<Control>,
}

impl Control {
    pub(crate) fn main(id: &str, words: impl Into<String>, tap: Tap) -> Control {
        Control::new(id, words, tap, Weight::Main)
    }

    pub(crate) fn plain(id: &str, words: impl Into<String>, tap: Tap) -> Control {
        Control::new(id, words, tap, Weight::Plain)
    }

    pub(crate) fn quiet(id: &str, words: impl Into<String>, tap: Tap) -> Control {
        Control::new(id, words, tap, Weight::Quiet)
    }

    fn new(id: &str, words: impl Into<String>, tap: Tap, weight: Weight) -> Control {
        Control { id: id.to_owned(), words: words.into(), second: None, tap, weight, chosen: None }
    }

    pub(crate) fn second(mut self, second: impl Into<String>) -> Control {
        self.second = Some(second.into());
        self
    }

    pub(crate) fn chosen(mut self, chosen: bool) -> Control {
        self.chosen = Some(chosen);
        self
    }
}

/// Whose times these are, on a phone that is set to another time than the site's.
pub(crate) fn times_of(model: &Model, lang: Lang) -> Option<Block> {
    let place = words::zone_place(model.zone().filter(|_| model.elsewhere)?);
    Some(words_block("times-of", w::times_of(lang, place), Tone::Soft))
}

pub(crate) fn words_block(id: &'static str, text: impl Into<String>, tone: Tone) -> Block {
    Block::Words { id, text: text.into(), tone }
}

pub(crate) fn heading(id: &'static str, text: impl Into<String>, second: Option<String>) -> Block {
    Block::Heading { id, text: text.into(), second }
}

/// The screen as it is now.
pub fn view(model: &Model) -> View {
    let lang = model.lang();
    let (name, mut blocks) = screen(model, lang);
    notices(model, lang, &mut blocks);
    let member = matches!(model.membership, Membership::In(_));
    let drill = model.state.as_ref().is_some_and(|state| state.drill);
    let second = if drill { w::fire_bar_drill(lang) } else { w::fire_bar_second(lang) };
    View {
        lang,
        theme: model.choices.theme,
        top: top::top(model, lang),
        blocks,
        name,
        fire: (w::fire_bar(lang).to_owned(), second.to_owned()),
        places: if member { places(model, lang) } else { Vec::new() },
        on_duty: crate::shift::on_duty(model),
    }
}

fn screen(model: &Model, lang: Lang) -> (&'static str, Vec<Block>) {
    match &model.started {
        Started::No => {
            return ("loading", vec![words_block("loading", w::loading(lang), Tone::Soft)]);
        }
        Started::Failed { .. } => {
            let says = words_block("storage-failed", w::storage_failed(lang), Tone::Ember);
            return ("storage-failed", vec![says]);
        }
        Started::Yes => {}
    }
    if model.other_tab {
        return ("other-tab", vec![words_block("other-tab", w::other_tab(lang), Tone::Plain)]);
    }
    if !matches!(model.membership, Membership::In(_)) {
        return ("enrol", enrol::enrol(model, lang));
    }
    let Some(state) = model.state.as_ref() else { return before::no_watch(model, lang) };
    let Some(site) = crate::site::Site::of(model, state) else {
        return before::no_watch(model, lang);
    };
    match (&model.page, model.place) {
        (Some(page), _) => page_of(model, lang, state, &site, page),
        (None, Place::Round) => round::round(model, lang, state, &site),
        (None, Place::Write) => ("write", write::write(model, lang, state, &site)),
        (None, Place::Shift) => ("shift", shift::shift(model, lang, state, &site)),
    }
}

fn page_of(
    model: &Model,
    lang: Lang,
    state: &watch::State,
    site: &crate::site::Site<'_>,
    page: &Page,
) -> (&'static str, Vec<Block>) {
    match page {
        Page::CannotGetIn => ("cannot-get-in", round::cannot_get_in(model, lang)),
        Page::OtherStop => ("other-stop", round::other_stop(model, lang, state, site)),
        Page::Scan => ("scan", round::scan(model, lang)),
        Page::Plan { level, near } => {
            ("plan", plan::plan(model, lang, state, site, (level.as_ref(), *near)))
        }
        Page::Ask => ("ask", round::ask(model, lang, state, site)),
        Page::Class => ("class", write::class(lang)),
        Page::Where(class) => ("where", write::place(model, lang, state, site, *class)),
        Page::Observation(of) => {
            ("observation", observation::observation(model, lang, state, site, *of))
        }
        Page::Tell(_) => ("tell", observation::tell(model, lang, site)),
        Page::TellHow => ("tell-how", observation::tell_how(model, lang)),
        Page::Note => ("note", write::note(model, lang)),
        Page::HotWorkList => ("hot-work-list", hot_work::list(model, lang, state, site)),
        Page::PermitWhere => ("permit-where", hot_work::place(lang, state, site)),
        Page::Permit => ("permit", hot_work::permit(model, lang, site)),
        Page::HotWork(of) => ("hot-work", hot_work::work(model, lang, state, site, *of)),
        Page::Line(of) => ("line", correcting::line(model, lang, site, *of)),
        Page::Late(of) => ("late", correcting::late(model, lang, *of)),
        Page::Structures => ("structures", correcting::structures(lang, state, site)),
        Page::Paper => ("paper", paper::ladder(model, lang, site)),
        Page::Notepad => ("notepad", paper::notepad(model, lang, state, site)),
        Page::PaperBack => ("paper-back", paper::back_again(model, lang, state)),
        Page::Sheet => ("sheet", sheet::row(model, lang, site)),
        Page::Who => ("who", pin::who(model, lang)),
        Page::Pin => ("pin", pin::pin(model, lang)),
        Page::Instructions => ("instructions", shift::instructions(model, lang, state, site)),
        Page::Notice => ("notice", shift::notice(lang)),
        Page::Equipment => ("equipment", shift::equipment(model, lang, state, site)),
        Page::Relief => ("relief", relief::relief(model, lang, state, site)),
        Page::End => ("end", relief::end(model, lang, state)),
        Page::Waiting => ("waiting", waiting::waiting(model, lang, state, site)),
        Page::Pieces => ("pieces", pieces::show(model, lang)),
        Page::Gather => ("gather", pieces::gather(model, lang)),
        Page::Settings => ("settings", settings::settings(model, lang, state)),
    }
}

fn places(model: &Model, lang: Lang) -> Vec<PlaceTab> {
    let words = |place| match place {
        Place::Round => w::round(lang),
        Place::Write => w::write(lang),
        Place::Shift => w::shift(lang),
    };
    Place::ALL
        .into_iter()
        .map(|place| PlaceTab { place, words: words(place).to_owned(), here: model.place == place })
        .collect()
}

fn notices(model: &Model, lang: Lang, blocks: &mut Vec<Block>) {
    let Some(notice) = &model.notice else { return };
    let (text, tone) = match notice {
        Notice::Saved if model.writing.unsaved() > 0 => (w::saving(lang).to_owned(), Tone::Live),
        Notice::Saved => (w::saved(lang).to_owned(), Tone::Live),
        Notice::Full => (w::full(lang).to_owned(), Tone::Ember),
        Notice::Broken => (w::broken(lang).to_owned(), Tone::Ember),
        Notice::ClockMoved { by_min } => (w::clock_moved(lang, by_min.abs()), Tone::Ember),
        Notice::ForeignTag => (w::foreign_tag(lang).to_owned(), Tone::Ember),
        Notice::PhotoFailed => (w::photo_failed(lang).to_owned(), Tone::Ember),
        Notice::KeyFailed => (w::key_failed(lang).to_owned(), Tone::Ember),
        Notice::NoCamera => (w::no_camera(lang).to_owned(), Tone::Ember),
    };
    // Above everything that can be touched: a sentence under the fold is a sentence not read.
    blocks.insert(0, words_block("notice", text, tone));
}

/// A contact that one touch dials, and says so; where nothing may be dialled the touch only says it.
pub(crate) fn ring(
    model: &Model,
    lang: Lang,
    id: &str,
    contact: &record::documents::Contact,
    tap: Option<Tap>,
) -> Block {
    let party = crate::names::party(lang, contact.party).to_owned();
    if model.may_dial(&contact.number) {
        let words = w::ask_ring(lang, &contact.name);
        let number = contact.number.clone();
        return Block::Ring { id: id.to_owned(), words, second: Some(party), number, tap };
    }
    let says = format!("{party}, {}", contact.number);
    match tap {
        Some(tap) => Block::Act(Control::plain(id, &contact.name, tap).second(says)),
        None => words_block("no-dial", format!("{}, {says}", contact.name), Tone::Soft),
    }
}

pub(crate) fn back(lang: Lang) -> Block {
    Block::Act(Control::quiet("back", w::back(lang), Tap::Back))
}

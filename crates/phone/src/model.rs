//! Everything the phone knows while it runs. All of it but the screen can be rebuilt from storage.

use crate::card::CardRecord;
use crate::carrying::Carrying;
use crate::clock::Clock;
use crate::documents::Documents;
use crate::draft::Draft;
use crate::effect::{Effect, Ticket};
use crate::kept::Kept;
use crate::moment::Moment;
use crate::pin::{Asking, Pins};
use crate::reminding::Call;
use crate::sheets::Sheets;
use crate::stored::{Choices, LogNote, StoredBlob, StoredDevice, StoredLine};
use crate::sync::Member;
use crate::syncing::Syncing;
use crate::tap::{Page, Place};
use crate::writing::Writing;
use ledger::order::{Map, Set};
use ledger::{Digest, LineId, PersonId, WatchId};
use record::Fix;
use std::collections::BTreeMap;
use watch::{State, Watch};
use words::Lang;

/// A state younger than this stands for now, ms: the screen says seconds, and a fold is the larger part of
/// what an event costs.
const FOLD_MS: i64 = 1_000;

/// The phone.
#[derive(Debug)]
pub struct Model {
    pub(crate) app: String,
    pub(crate) browser_lang: Lang,
    pub(crate) started: Started,
    pub(crate) clock: Clock,
    pub(crate) device: Option<StoredDevice>,
    pub(crate) membership: Membership,
    pub(crate) log: LogNote,
    pub(crate) choices: Choices,
    pub(crate) lines: BTreeMap<LineId, Kept>,
    pub(crate) tips: Map<WatchId, record::Place>,
    pub(crate) watches: Map<WatchId, Watch>,
    pub(crate) documents: Documents,
    pub(crate) blobs: Map<Digest, StoredBlob>,
    pub(crate) draft: Draft,
    pub(crate) writing: Writing,
    pub(crate) syncing: Syncing,
    pub(crate) enrolment: crate::enrolling::Question,
    pub(crate) place: Place,
    pub(crate) page: Option<Page>,
    pub(crate) said: Option<Said>,
    pub(crate) notice: Option<Notice>,
    pub(crate) fix: Option<(Fix, i64)>,
    pub(crate) position_denied: bool,
    pub(crate) no_camera: bool,
    pub(crate) battery: Option<u8>,
    pub(crate) persisted: Option<bool>,
    pub(crate) update_waits: bool,
    pub(crate) other_tab: bool,
    pub(crate) card: Option<CardRecord>,
    /// Who has taken over on this phone while the guard before still signs.
    pub(crate) next_person: Option<crate::sync::Named>,
    pub(crate) reminded: Set<Call>,
    pub(crate) pins: Pins,
    pub(crate) carrying: Carrying,
    pub(crate) sheets: Sheets,
    /// Who is asked for a PIN.
    pub(crate) asking: Option<Asking>,
    pub(crate) free_kib: Option<u64>,
    /// Lines on the disk that do not verify: kept as they are, named on the screen, handed over as a file.
    pub(crate) damaged: Vec<StoredLine>,
    /// The browser reads NFC tags.
    pub(crate) reads_tags: bool,
    pub(crate) heartbeat_mono_ms: i64,
    pub(crate) prune_mono_ms: i64,
    /// The phone's own clocks at this event, wall and monotonic, ms.
    pub(crate) clocks: (i64, i64),
    /// The state of the watch on the screen, at most [`FOLD_MS`] old.
    pub(crate) state: Option<State>,
    /// The revision of that watch at which it was folded.
    folded: u64,
    pub(crate) now_ms: i64,
    /// Local time minus UTC at the site, minutes: every time on the screen is told by it, as at the desk and on paper.
    pub(crate) tz_min: i64,
    /// The phone is set to another time than the site's.
    pub(crate) elsewhere: bool,
    tickets: Ticket,
}

/// Whether storage was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Started {
    /// Not yet.
    No,
    /// Yes.
    Yes,
    /// It cannot be.
    Failed {
        /// What the browser said.
        says: String,
    },
}

/// How far the enrolment is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Membership {
    /// Nobody's phone yet.
    None,
    /// A token is there, the key is being made or the server asked.
    Asking {
        /// The token.
        token: String,
    },
    /// The desk has yet to compare the code.
    Waiting {
        /// The token.
        token: String,
        /// Six digits.
        code: String,
    },
    /// The token is of no use.
    Refused,
    /// In.
    In(Box<Member>),
}

/// What was just said, so that it can be taken back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Said {
    /// The line.
    pub line: LineId,
    /// What the screen calls it.
    pub what: String,
    /// Until when it can be taken back, on the monotonic clock, ms.
    pub until_mono_ms: i64,
    /// The screen's "now" on the monotonic clock, ms.
    pub now_mono_ms: i64,
}

/// One sentence at the foot of the screen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Notice {
    /// Kept on this phone.
    Saved,
    /// No space left: what was said is still on the screen.
    Full,
    /// Storage fails.
    Broken,
    /// The clock was moved by so many minutes.
    ClockMoved {
        /// Minutes, positive forwards.
        by_min: i64,
    },
    /// The code read belongs to no stop of this site.
    ForeignTag,
    /// The photo could not be kept.
    PhotoFailed,
    /// No key can be kept here.
    KeyFailed,
    /// The camera is not to be had.
    NoCamera,
}

impl Model {
    /// A phone that has just been started by the program `app`; `boot` names this start.
    pub fn new(app: &str, boot: &str, browser_lang: Lang) -> Model {
        Model {
            app: app.to_owned(),
            browser_lang,
            started: Started::No,
            clock: Clock::new(boot),
            device: None,
            membership: Membership::None,
            log: LogNote::default(),
            choices: Choices::default(),
            lines: BTreeMap::new(),
            tips: Map::new(),
            watches: Map::new(),
            documents: Documents::default(),
            blobs: Map::new(),
            draft: Draft::default(),
            writing: Writing::default(),
            syncing: Syncing::default(),
            enrolment: crate::enrolling::Question::default(),
            place: Place::Round,
            page: None,
            said: None,
            notice: None,
            fix: None,
            position_denied: false,
            no_camera: false,
            battery: None,
            persisted: None,
            update_waits: false,
            other_tab: false,
            card: None,
            next_person: None,
            reminded: Set::new(),
            pins: Pins::default(),
            carrying: Carrying::default(),
            sheets: Sheets::default(),
            asking: None,
            free_kib: None,
            damaged: Vec::new(),
            reads_tags: false,
            heartbeat_mono_ms: 0,
            prune_mono_ms: 0,
            clocks: (0, 0),
            state: None,
            folded: 0,
            now_ms: 0,
            tz_min: 0,
            elsewhere: false,
            tickets: 0,
        }
    }

    /// The language on the screen.
    pub fn lang(&self) -> Lang {
        let chosen = self.choices.language.as_deref().or(match &self.membership {
            Membership::In(member) => member.language.as_deref(),
            _ => None,
        });
        chosen.map_or(self.browser_lang, Lang::from_tag)
    }

    /// Who holds the phone now.
    pub(crate) fn person(&self) -> Option<&PersonId> {
        match (&self.choices.person, &self.membership) {
            (Some(person), _) => Some(&person.id),
            (None, Membership::In(member)) => Some(&member.person.id),
            _ => None,
        }
    }

    /// What a person is called on this phone.
    pub(crate) fn name_of(&self, person: &PersonId) -> String {
        let own = match &self.membership {
            Membership::In(member) if member.person.id == *person => Some(&member.person.name),
            _ => None,
        };
        let known = || {
            let people = self.log.people.iter().chain(self.choices.person.iter());
            people.filter(|named| named.id == *person).map(|named| &named.name).next()
        };
        let of_key = || {
            let keys = self.log.keys.iter().filter(|key| key.person.as_ref() == Some(person));
            keys.filter_map(|key| key.name.as_ref()).next()
        };
        own.or_else(known).or_else(of_key).cloned().unwrap_or_else(|| person.to_string())
    }

    /// The watch on the screen.
    pub(crate) fn watch(&self) -> Option<&Watch> {
        self.watches.get(self.choices.watch.as_ref()?)
    }

    /// Lines of this phone that no receipt is held for.
    pub(crate) fn waiting(&self) -> impl Iterator<Item = &Kept> {
        let device = self.device.as_ref().map(|device| device.key.device());
        self.lines.values().filter(move |kept| Some(kept.line.dev) == device && !kept.is_sent())
    }

    /// Lines of others that wait here for a receipt: taken along for another phone, or lost by a server
    /// that came back from a copy.
    pub(crate) fn carried(&self) -> impl Iterator<Item = &Kept> {
        let own = self.device.as_ref().map(|device| device.key.device());
        let others = self.lines.values().filter(move |kept| Some(kept.line.dev) != own);
        others.filter(|kept| !kept.is_sent() && !kept.is_aside())
    }

    /// Whether a line counts here: this phone's own, one that the log has, or one of a device that the
    /// server has named. What was read off a stranger's screen counts once the server has taken it in.
    fn counts(&self, kept: &Kept) -> bool {
        let dev = kept.line.dev;
        let own = || self.device.as_ref().is_some_and(|own| own.key.device() == dev);
        let named = || self.log.keys.iter().any(|known| known.dev == dev);
        let server = || match &self.membership {
            Membership::In(member) => member.server_keys.iter().any(|key| key.device() == dev),
            _ => false,
        };
        kept.is_sent() || own() || named() || server()
    }

    /// Photos and signatures that lines name and the server has not got. A signature that is still
    /// being drawn belongs to no line yet.
    pub(crate) fn unsent_blobs(&self) -> impl Iterator<Item = &StoredBlob> {
        let drawing = self.draft.signature;
        self.blobs.values().filter(move |blob| !blob.sent && Some(blob.blob) != drawing)
    }

    /// Whether this number may be dialled from a screen: none in a practice, and on a demonstration or
    /// test site none so short that it could be the fire service's.
    pub(crate) fn may_dial(&self, number: &str) -> bool {
        let Some(state) = &self.state else { return false };
        let digits = number.chars().filter(char::is_ascii_digit).count();
        let pretend = state.opening.as_ref().is_none_or(|opening| opening.demo || opening.test);
        !state.drill && (!pretend || digits > 4)
    }

    /// Whether an emergency is going on in the watch on the screen.
    pub(crate) fn emergency(&self) -> bool {
        self.state.as_ref().is_some_and(|state| state.emergency().is_some())
    }

    pub(crate) fn ticket(&mut self) -> Ticket {
        self.tickets += 1;
        self.tickets
    }

    /// The time zone of the place whose watch is on the screen, as the tz database names it.
    pub fn zone(&self) -> Option<&str> {
        let opening = self.state.as_ref()?.opening.as_ref()?;
        Some(&opening.tz)
    }

    /// Folds the watch on the screen about now, unless it was folded just now and nothing came since.
    pub(crate) fn fold(&mut self, at: &Moment) {
        self.now_ms = self.clock.now_ms(at);
        self.tz_min = at.site_tz_min.unwrap_or(at.tz_min);
        self.elsewhere = self.tz_min != at.tz_min;
        self.clocks = (at.wall_ms, at.mono_ms);
        let Some(watch) = self.watch() else {
            self.state = None;
            return;
        };
        let (now_ms, revision) = (self.now_ms, watch.revision());
        let still_so = self.state.as_ref().is_some_and(|state| {
            let age_ms = now_ms - state.about_ms;
            state.watch == *watch.id() && self.folded == revision && (0..FOLD_MS).contains(&age_ms)
        });
        if !still_so {
            (self.state, self.folded) = (Some(watch.about(now_ms)), revision);
        }
    }

    /// Takes a line into memory: the set and the watch it belongs to.
    pub(crate) fn take(&mut self, kept: Kept) {
        let watch = kept.line.watch.clone();
        if !watch.is_org() && self.counts(&kept) {
            let held = kept.held();
            self.watches.or_insert_with(watch.clone(), || Watch::new(watch)).add(held);
        }
        self.lines.insert(kept.line.id(), kept);
    }
}

/// What an event asks the browser to do, in order.
#[derive(Debug, Default)]
pub(crate) struct Effects(pub Vec<Effect>);

impl Effects {
    /// One more.
    pub(crate) fn push(&mut self, effect: Effect) {
        self.0.push(effect);
    }
}

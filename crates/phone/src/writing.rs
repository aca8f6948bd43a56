//! From something said to a line on the disk. What was said together about one watch is kept together, in
//! one transaction: a line names the one before by its bytes, so all are signed at once.
//!
//! What is said waits in memory until its line is kept; a failure puts it back in front, so nothing
//! said is dropped while the program runs, and nothing is shown as saved before it is.

use crate::effect::{Effect, Guard, Ticket};
use crate::event::SaveFault;
use crate::kept::Kept;
use crate::model::{Effects, Model, Notice, Said};
use crate::moment::Moment;
use crate::stored::{Put, StoredLine, StoredTip};
use crate::tap::{Page, Place};
use ledger::{Auth, Clk, Digest, LineId, PersonId, Private, PublicKey, Signature, WatchId};
use record::{Draft, Entry, Words};
use std::collections::VecDeque;

/// How long something said can be taken back in one touch, ms.
pub(crate) const TAKE_BACK_MS: i64 = 10_000;

/// After a failure of storage it is tried again so often, ms.
const RETRY_MS: i64 = 5_000;

/// At most so many lines in one transaction (ours): a few touches of somebody in a hurry.
const TOGETHER_MAX: usize = 16;

/// What is being written.
#[derive(Debug, Default)]
pub(crate) struct Writing {
    queue: VecDeque<Saying>,
    current: Option<Current>,
    retry_mono_ms: Option<i64>,
    loading: bool,
}

/// Something said, not yet a line.
#[derive(Debug, Clone)]
pub(crate) struct Saying {
    pub(crate) watch: WatchId,
    pub(crate) who: PersonId,
    pub(crate) auth: Auth,
    pub(crate) clk: Clk,
    pub(crate) entry: Entry,
    pub(crate) words: Words,
    pub(crate) salt: [u8; 16],
    pub(crate) then: Then,
    /// Kept in the same transaction.
    pub(crate) puts: Vec<Put>,
}

/// What follows once the line is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Then {
    /// Nothing.
    Nothing,
    /// It can be taken back for a while.
    TakeBack {
        /// What the screen calls it.
        what: String,
    },
    /// The observation is opened.
    OpenObservation,
    /// The hot work that it began is opened.
    OpenHotWork,
    /// The hot work that it began is stopped at once.
    StopWork,
    /// The card may forget its stamps.
    ForgetStamps {
        /// The last one.
        upto: u64,
    },
    /// The enrolment goes on.
    Enrol,
}

/// Lines on their way to the disk, one after the other in one chain.
#[derive(Debug)]
struct Current {
    /// The chain's end before them.
    place: record::Place,
    lines: Vec<Making>,
    /// Of the transaction, once all are signed.
    saving: Option<Ticket>,
}

/// One of them.
#[derive(Debug)]
struct Making {
    /// Of the signature.
    ticket: Ticket,
    saying: Saying,
    bytes: Vec<u8>,
    private: Option<Private>,
    kept: Option<Kept>,
}

impl Writing {
    /// How many things were said and are not kept yet.
    pub(crate) fn unsaved(&self) -> usize {
        self.queue.len() + self.current.as_ref().map_or(0, |current| current.lines.len())
    }

    /// Entries said and not kept yet, in order.
    pub(crate) fn entries(&self) -> impl Iterator<Item = (&WatchId, &Entry)> {
        let current = self.current.iter().flat_map(|current| &current.lines);
        let current = current.map(|making| &making.saying);
        current.chain(&self.queue).map(|saying| (&saying.watch, &saying.entry))
    }

    /// Storage is being read again; nothing is written until that is done.
    pub(crate) fn loaded(&mut self) {
        self.loading = false;
    }
}

/// Says something about the watch on the screen, as whoever holds the phone.
pub(crate) fn say(model: &mut Model, at: &Moment, entry: impl Into<Entry>, then: Then) {
    say_with(model, at, entry, Words::default(), then);
}

/// As [`say`], with words.
pub(crate) fn say_with(
    model: &mut Model,
    at: &Moment,
    entry: impl Into<Entry>,
    words: Words,
    then: Then,
) {
    let (Some(watch), Some(who)) = (model.choices.watch.clone(), model.person().cloned()) else {
        return;
    };
    say_as(model, at, watch, who, entry.into(), words, then, Vec::new());
}

/// Says something as anybody about anything.
#[expect(
    clippy::too_many_arguments,
    reason = "the parts of a line that do not come from the phone"
)]
pub(crate) fn say_as(
    model: &mut Model,
    at: &Moment,
    watch: WatchId,
    who: PersonId,
    entry: Entry,
    words: Words,
    then: Then,
    puts: Vec<Put>,
) {
    let clk = model.clock.clk(at);
    let salt = at.salt(model.writing.unsaved() as u64);
    let auth = if model.choices.by_pin.as_ref() == Some(&who) { Auth::Pin } else { Auth::Device };
    let saying = Saying { watch, who, auth, clk, entry, words, salt, then, puts };
    model.writing.queue.push_back(saying);
}

/// Begins the next lines if none is under way.
pub(crate) fn pump(model: &mut Model, at: &Moment, effects: &mut Effects) {
    let waits = model.writing.retry_mono_ms.is_some_and(|retry| at.mono_ms < retry);
    if model.writing.current.is_some() || model.writing.loading || model.other_tab || waits {
        return;
    }
    let Some(device) = model.device.as_ref().map(|device| device.key.device()) else { return };
    let Some(watch) = model.writing.queue.front().map(|saying| saying.watch.clone()) else {
        return;
    };
    model.writing.retry_mono_ms = None;
    let start = || record::Place::start(device, watch.clone());
    let place = model.tips.get(&watch).cloned().unwrap_or_else(start);
    let mut end = place.clone();
    let mut lines = Vec::new();
    while lines.len() < TOGETHER_MAX {
        let Some(saying) = model.writing.queue.pop_front_if(|saying| saying.watch == watch) else {
            break;
        };
        let making = make(model, saying, &end);
        end = end.after(LineId(Digest::of(&making.bytes)));
        effects.push(Effect::Sign { ticket: making.ticket, bytes: making.bytes.clone() });
        lines.push(making);
    }
    model.writing.current = Some(Current { place, lines, saving: None });
}

fn make(model: &mut Model, saying: Saying, place: &record::Place) -> Making {
    let draft = Draft {
        who: saying.who.clone(),
        auth: saying.auth,
        clk: saying.clk.clone(),
        head: model.log.head.clone(),
        app: model.app.clone(),
        entry: saying.entry.clone(),
        words: saying.words.clone(),
        salt: saying.salt,
    };
    let Ok((line, private)) = draft.line(place).or_else(|_| shortened(&draft).line(place)) else {
        // Without words every entry of ours fits: its parts are codes, numbers and short ids.
        unreachable!("an entry without words makes a line");
    };
    let bytes = line.to_bytes().expect("the draft made these bytes before");
    Making { ticket: model.ticket(), saying, bytes, private, kept: None }
}

/// Words that do not fit into a private line are cut to what does.
fn shortened(draft: &Draft) -> Draft {
    let mut short = draft.clone();
    let text: String = short.words.text().chars().take(1_500).collect();
    short.words.words = Words::from_text(&text).words;
    short.words.names.values_mut().for_each(|name| *name = name.chars().take(100).collect());
    short
}

/// The key signed. Once it has signed all of them they go to the disk.
pub(crate) fn signed(
    model: &mut Model,
    at: &Moment,
    ticket: Ticket,
    signature: Signature,
    effects: &mut Effects,
) {
    let Some(key) = model.device.as_ref().map(|device| device.key) else { return };
    let Some(mut current) = model.writing.current.take_if(|c| c.signs(ticket)) else { return };
    for making in current.lines.iter_mut().filter(|making| making.ticket == ticket) {
        making.kept = prepare(making, signature, &key);
        if making.kept.is_none() {
            back(model, at, current);
            return;
        }
    }
    if current.lines.iter().all(|making| making.kept.is_some()) {
        let ticket = model.ticket();
        current.saving = Some(ticket);
        let (guard, puts) = (current.guard(), current.puts());
        effects.push(Effect::Save { ticket, guard: Some(guard), puts });
    }
    model.writing.current = Some(current);
}

impl Current {
    fn signs(&self, ticket: Ticket) -> bool {
        self.saving.is_none() && self.lines.iter().any(|making| making.ticket == ticket)
    }

    fn guard(&self) -> Guard {
        let place = self.place.clone();
        Guard { dev: place.dev, watch: place.watch, count: place.seq, last: place.prev }
    }

    fn end(&self) -> record::Place {
        let ids = self.lines.iter().map(|making| LineId(Digest::of(&making.bytes)));
        ids.fold(self.place.clone(), |place, id| place.after(id))
    }

    fn puts(&self) -> Vec<Put> {
        let kept = self.lines.iter().filter_map(|making| making.kept.as_ref());
        let mut puts: Vec<Put> =
            kept.map(|kept| Put::Line(Box::new(kept.stored.clone()))).collect();
        let end = self.end();
        puts.push(Put::Tip(StoredTip {
            dev: end.dev,
            watch: end.watch,
            count: end.seq,
            last: end.prev,
        }));
        puts.extend(self.lines.iter().flat_map(|making| making.saying.puts.iter().cloned()));
        puts
    }
}

fn prepare(making: &Making, signature: Signature, key: &PublicKey) -> Option<Kept> {
    let line = String::from_utf8(making.bytes.clone()).expect("canonical bytes are UTF-8");
    let private = making.private.as_ref().map(|private| {
        let bytes = private.to_bytes().expect("the draft made these bytes before");
        String::from_utf8(bytes).expect("canonical bytes are UTF-8")
    });
    let id = LineId(Digest::of(&making.bytes));
    let stored =
        StoredLine { id, line, sig: signature, private, receipt: None, leaf: None, aside: None };
    Kept::read(stored, key).ok()
}

/// The key could not sign.
pub(crate) fn sign_failed(model: &mut Model, at: &Moment, ticket: Ticket) {
    if let Some(current) = model.writing.current.take_if(|c| c.signs(ticket)) {
        back(model, at, current);
    }
}

/// The lines are on the disk: only now do they count.
pub(crate) fn saved(model: &mut Model, at: &Moment, ticket: Ticket, effects: &mut Effects) {
    let Some(current) = model.writing.current.take_if(|c| c.saving == Some(ticket)) else { return };
    model.tips.insert(current.place.watch.clone(), current.end());
    if matches!(model.notice, Some(Notice::Full | Notice::Broken)) {
        model.notice = None;
    }
    for making in current.lines {
        let Some(kept) = making.kept else { continue };
        let id = kept.line.id();
        model.take(kept);
        follow(model, at, id, making.saying.then, effects);
    }
    pump(model, at, effects);
    crate::syncing::hurry(model, at);
}

fn follow(model: &mut Model, at: &Moment, id: LineId, then: Then, effects: &mut Effects) {
    match then {
        Then::Nothing => {}
        Then::TakeBack { what } => {
            let until_mono_ms = at.mono_ms + TAKE_BACK_MS;
            model.said = Some(Said { line: id, what, until_mono_ms, now_mono_ms: at.mono_ms });
        }
        Then::OpenObservation => {
            model.draft.observation = Some(id);
            model.draft.done.clear();
            (model.place, model.page) = (Place::Write, Some(Page::Observation(id)));
        }
        Then::OpenHotWork => {
            (model.place, model.page) = (Place::Write, Some(Page::HotWork(id)));
        }
        Then::StopWork => crate::hot_work::stop(model, at, id),
        Then::ForgetStamps { upto } => effects.push(Effect::ForgetStamps { upto }),
        Then::Enrol => crate::enrolling::line_kept(model, at, id, effects),
    }
}

/// Nothing was kept: it goes back in front.
pub(crate) fn save_failed(
    model: &mut Model,
    at: &Moment,
    ticket: Ticket,
    why: SaveFault,
    effects: &mut Effects,
) {
    let current = model.writing.current.take_if(|c| c.saving == Some(ticket));
    match why {
        SaveFault::Moved => {
            model.writing.loading = true;
            effects.push(Effect::Load);
        }
        SaveFault::Full => model.notice = Some(Notice::Full),
        SaveFault::Broken { .. } => model.notice = Some(Notice::Broken),
    }
    if let Some(current) = current {
        let moved = model.writing.loading;
        back(model, at, current);
        if moved {
            model.writing.retry_mono_ms = None;
        }
    }
}

fn back(model: &mut Model, at: &Moment, current: Current) {
    for making in current.lines.into_iter().rev() {
        model.writing.queue.push_front(making.saying);
    }
    model.writing.retry_mono_ms = Some(at.mono_ms + RETRY_MS);
}

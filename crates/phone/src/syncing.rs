//! When the phone talks to its server and what it makes of the answers. One request at a time and one
//! blob at a time; every answer may be lost, and the same question is then simply asked again.

use crate::effect::{Body, Effect, Method, Ticket};
use crate::kept::Kept;
use crate::model::{Effects, Membership, Model};
use crate::moment::Moment;
use crate::other_logs;
use crate::pace::{self, Pace};
use crate::pictures::Why;
use crate::stored::{Name, Put, StoredBlob, note};
use crate::sync::reading::ReadLine;
use crate::sync::{
    Is, ReadReply, Reply, ReplyFault, Request, RequestNote, SentLine, VERSION, WatchFrom,
};
use ledger::order::{self, Map, Set};
use ledger::{Digest, HeadRef, LineId, Proof, Receipt, SignedHead};
use watch::Watch;

/// After a failure it waits this long, doubled each time, ms.
const BACK_OFF_MS: i64 = 2_000;

/// At most so long, ms.
const BACK_OFF_MAX_MS: i64 = 60_000;

/// After so long without an answer a question counts as lost, ms.
const LOST_MS: i64 = 60_000;

/// At most so many lines in one request.
const LINES_MAX: usize = 200;

/// At most so many lines in a request after one that found nobody: a phone without a network packs and
/// signs no hundred lines each minute for nothing, and the first small one that gets through brings the rest.
const PROBE_LINES: usize = 8;

/// At most so many bytes of lines in one request.
const BYTES_MAX: usize = 400_000;

/// What is under way.
#[derive(Debug, Default)]
pub(crate) struct Syncing {
    asked: Option<Asked>,
    moving: Option<Moving>,
    next_mono_ms: i64,
    pub(crate) pace: Pace,
    failures: u32,
    /// Something was kept while a request was under way: it is told right after.
    again: bool,
    blob_failures: u32,
    blob_next_mono_ms: i64,
    /// Blobs that failed since the last round through all of them: each waits behind the others, so
    /// that one the server lacks holds up none.
    tried: Set<Digest>,
    resend: Set<LineId>,
    /// What the last answer that was not believed said.
    pub(crate) fault: Option<ReplyFault>,
    /// When the server was last heard, ms UTC.
    pub(crate) heard_ms: Option<i64>,
    /// The server no longer knows this phone.
    pub(crate) revoked: bool,
}

#[derive(Debug)]
struct Asked {
    ticket: Ticket,
    t0: i64,
    sent_mono_ms: i64,
    quoted: Option<HeadRef>,
    /// More waits than it holds.
    rest: bool,
}

/// A blob on its way.
#[derive(Debug)]
struct Moving {
    ticket: Ticket,
    digest: Digest,
    up: bool,
    sent_mono_ms: i64,
}

impl Syncing {
    /// Why a photo or signature is still here.
    pub(crate) fn why(&self, blob: &Digest) -> Why {
        let going = self.moving.as_ref().is_some_and(|moving| moving.digest == *blob);
        match (self.offline() || self.heard_ms.is_none(), going) {
            (true, _) => Why::NoNetwork,
            (false, true) => Why::Going,
            (false, false) if self.tried.contains(blob) => Why::NotTaken,
            (false, false) => Why::Turn,
        }
    }

    /// Whether the last attempts failed.
    pub(crate) fn offline(&self) -> bool {
        self.failures > 0
    }
}

/// Something is worth telling: ask as soon as the back-off allows.
pub(crate) fn hurry(model: &mut Model, at: &Moment) {
    model.syncing.again = model.syncing.asked.is_some();
    if model.syncing.failures == 0 {
        model.syncing.next_mono_ms = at.mono_ms;
    }
}

/// Somebody touches the screen: news matter to them now.
pub(crate) fn touched(model: &mut Model, at: &Moment) {
    let due_ms = model.syncing.pace.touched(at);
    if model.syncing.failures == 0 {
        model.syncing.next_mono_ms = model.syncing.next_mono_ms.min(due_ms);
    }
}

/// The network may be back: ask now.
pub(crate) fn woke(model: &mut Model, at: &Moment) {
    model.syncing.pace.touched(at);
    model.syncing.next_mono_ms = at.mono_ms;
    model.syncing.blob_next_mono_ms = at.mono_ms;
}

/// Asks what is to be asked now.
pub(crate) fn step(model: &mut Model, at: &Moment, effects: &mut Effects) {
    let Membership::In(_) = model.membership else { return };
    if model.other_tab {
        return;
    }
    let lost = |sent_mono_ms: i64| at.mono_ms - sent_mono_ms > LOST_MS;
    if model.syncing.asked.take_if(|asked| lost(asked.sent_mono_ms)).is_some() {
        failed(model, at);
    }
    if model.syncing.moving.take_if(|moving| lost(moving.sent_mono_ms)).is_some() {
        blob_failed(model, at);
    }
    if model.syncing.asked.is_none() && at.mono_ms >= model.syncing.next_mono_ms {
        ask(model, at, effects);
    }
    if model.syncing.moving.is_none() && at.mono_ms >= model.syncing.blob_next_mono_ms {
        move_blob(model, at, effects);
    }
}

fn ask(model: &mut Model, at: &Moment, effects: &mut Effects) {
    let Some(device) = model.device.as_ref().map(|device| device.key.device()) else { return };
    let (request, rest) = request(model, at);
    let body = serde_json::to_string(&request).expect("a request holds text, numbers and lists");
    let note = RequestNote::new(device, "/sync", body.as_bytes(), at.wall_ms).text();
    let ticket = model.ticket();
    let (t0, sent_mono_ms, quoted) = (at.wall_ms, at.mono_ms, request.head);
    model.syncing.asked = Some(Asked { ticket, t0, sent_mono_ms, quoted, rest });
    let path = "/sync".to_owned();
    effects.push(Effect::Send { ticket, method: Method::Post, path, body: Body::Text(body), note });
}

/// What the phone has to say now: chain by chain in order, as much as fits; and whether more waits.
fn request(model: &Model, at: &Moment) -> (Request, bool) {
    let mut waiting: Vec<&Kept> = model.waiting().filter(|kept| !kept.is_aside()).collect();
    waiting.extend(model.syncing.resend.iter().filter_map(|id| model.lines.get(id)));
    waiting.extend(model.carried());
    order::sort_by_key(&mut waiting, |kept| {
        (kept.line.watch.clone(), kept.line.dev, kept.line.seq)
    });
    waiting.dedup_by_key(|kept| kept.line.id());
    let all = waiting.len();
    let most = if model.syncing.failures > 0 { PROBE_LINES } else { LINES_MAX };
    let mut bytes = 0;
    let fits = |kept: &&Kept| {
        bytes += kept.stored.line.len() + kept.stored.private.as_ref().map_or(0, String::len);
        bytes <= BYTES_MAX
    };
    let lines: Vec<SentLine> = waiting
        .into_iter()
        .take(most)
        .take_while(fits)
        .map(|kept| SentLine::of(&kept.stored.signed(), kept.stored.private.clone()))
        .collect();
    let rest = lines.len() < all;
    let watches = model.log.watches.iter().map(|watch| WatchFrom {
        watch: watch.clone(),
        from: model.log.from.get(watch).copied().unwrap_or(0),
        log: model.log.from_log.get(watch).cloned(),
    });
    let (head, watches) = (model.log.head.clone(), watches.collect());
    (Request { v: VERSION, t0: at.wall_ms, head, lines, watches }, rest)
}

/// An answer came. False if it was not one to us.
pub(crate) fn answered(
    model: &mut Model,
    at: &Moment,
    ticket: Ticket,
    status: u16,
    body: &[u8],
    effects: &mut Effects,
) -> bool {
    if let Some(moving) = model.syncing.moving.take_if(|moving| moving.ticket == ticket) {
        blob_answered(model, at, &moving, status, body, effects);
        step(model, at, effects);
        return true;
    }
    let Some(asked) = model.syncing.asked.take_if(|asked| asked.ticket == ticket) else {
        return false;
    };
    model.syncing.revoked = status == 401 || status == 403;
    let reply = (status == 200).then(|| ledger::json::parse::<Reply>(body).ok()).flatten();
    let Some(reply) = reply else {
        failed(model, at);
        return true;
    };
    match read(model, &asked, &reply) {
        Ok(read) => believe(model, at, &asked, &reply, read, effects),
        Err(fault) => {
            model.syncing.fault = Some(fault);
            failed(model, at);
        }
    }
    step(model, at, effects);
    true
}

/// No answer came. False if it was not asked by us.
pub(crate) fn no_answer(model: &mut Model, at: &Moment, ticket: Ticket) -> bool {
    if model.syncing.moving.take_if(|moving| moving.ticket == ticket).is_some() {
        blob_failed(model, at);
        return true;
    }
    if model.syncing.asked.take_if(|asked| asked.ticket == ticket).is_some() {
        failed(model, at);
        return true;
    }
    false
}

fn read(model: &Model, asked: &Asked, reply: &Reply) -> Result<ReadReply, ReplyFault> {
    let Membership::In(member) = &model.membership else {
        unreachable!("only members ask");
    };
    let mut keys = Map::from_iter(model.log.keys.iter().map(|known| (known.dev, known.key)));
    keys.extend(member.server_keys.iter().map(|key| (key.device(), *key)));
    keys.extend(model.device.iter().map(|own| (own.key.device(), own.key)));
    let pinned = [member.log_key.clone()];
    let own = |id| model.lines.get(&id).map(|kept| &kept.line);
    reply.read(asked.quoted.as_ref(), &pinned, &keys, own)
}

/// Everything was checked: take it in and keep it in one transaction.
fn believe(
    model: &mut Model,
    at: &Moment,
    asked: &Asked,
    reply: &Reply,
    read: ReadReply,
    effects: &mut Effects,
) {
    model.clock.heard(asked.t0, reply.t1, reply.t2, at);
    model.syncing.heard_ms = Some(reply.t2);
    model.syncing.fault = None;
    model.syncing.failures = 0;
    let taken = read.outcomes.iter().any(|outcome| matches!(outcome.is, Is::Received | Is::Again));
    let rest = asked.rest && taken;
    let at_once = std::mem::take(&mut model.syncing.again) || reply.more || rest;
    let news = read.lines.iter().any(|given| !is_held(model, given.line.id()));
    let waits_ms = pace::next(model, at, news);
    model.syncing.next_mono_ms = if at_once { at.mono_ms } else { at.mono_ms + waits_ms };
    let mut puts = Vec::new();
    if let Some(next) = read.next_key.clone() {
        other_logs::follow(model, next, &mut puts);
    }
    other_logs::cut(model, asked.quoted.as_ref(), &read.cut, &mut puts);
    outcomes(model, at, reply, &read, &mut puts);
    for line in read.lines {
        // Only what was given moves the mark: a line may have come in between reading and sealing.
        if read.unknown_devices.is_empty() {
            other_logs::given(model, &line);
        }
        given(model, line, &mut puts);
    }
    model.log.head = Some(read.head.quoted());
    remember(model, read.keys, read.watches, read.people);
    puts.push(note(Name::Log, &model.log));
    let ticket = model.ticket();
    effects.push(Effect::Save { ticket, guard: None, puts });
}

fn outcomes(model: &mut Model, at: &Moment, reply: &Reply, read: &ReadReply, puts: &mut Vec<Put>) {
    let own = model.device.as_ref().map(|device| device.key.device());
    for outcome in &read.outcomes {
        let Some(kept) = model.lines.get_mut(&outcome.id) else { continue };
        match (outcome.is, &outcome.leaf) {
            (Is::Received | Is::Again, Some(leaf)) => {
                model.syncing.resend.remove(&outcome.id);
                kept.leaf = Some(leaf.clone());
                kept.stored.aside = None;
                kept.stored.receipt = receipt(reply, outcome.id, leaf);
            }
            (Is::Forked | Is::Refused, _) => {
                kept.stored.aside = Some(outcome.says.clone().unwrap_or_default());
            }
            // The server keeps it until somebody brings what is missing of another's chain.
            (Is::Held, _) if Some(kept.line.dev) != own => {
                kept.stored.aside = Some(outcome.says.clone().unwrap_or_default());
            }
            (Is::Held, _) => {
                // The server lacks lines that we may already hold receipts for: it came back from a
                // copy. They go up again.
                let (watch, dev) = (kept.line.watch.clone(), kept.line.dev);
                let missing = outcome.missing.unwrap_or((0, kept.line.seq));
                let again = model.lines.values().filter(|kept| {
                    let place = &kept.line;
                    let within = (missing.0..=missing.1).contains(&place.seq);
                    place.dev == dev && place.watch == watch && within
                });
                let again: Vec<LineId> = again.map(|kept| kept.line.id()).collect();
                model.syncing.resend.extend(again);
                model.syncing.next_mono_ms = at.mono_ms + BACK_OFF_MS;
                continue;
            }
            _ => continue,
        }
        let watch = kept.line.watch.clone();
        // A line taken along may not have counted before.
        if kept.is_sent() && Some(kept.line.dev) != own && !watch.is_org() {
            let held = kept.held();
            let begun = || Watch::new(watch.clone());
            model.watches.or_insert_with(watch.clone(), begun).add(held);
        }
        if let (Some(sealing), Some(watch)) = (kept.sealing(), model.watches.get_mut(&watch)) {
            watch.seal(outcome.id, sealing);
        }
        puts.push(Put::Line(Box::new(kept.stored.clone())));
    }
}

fn receipt(reply: &Reply, id: LineId, leaf: &ledger::leaf::Entry) -> Option<String> {
    let outcome = reply.outcomes.iter().find(|outcome| outcome.id == id)?;
    let notes = std::iter::once(&reply.head).chain(&reply.logs.earlier);
    let mut heads = notes.filter_map(|note| SignedHead::parse(note).ok());
    let of_log = |head: &SignedHead| match &outcome.log {
        Some(log) => head.claimed().origin == *log,
        None => true,
    };
    let head = heads.find(of_log)?;
    let path = outcome.proof.clone()?;
    let proof = Proof { index: leaf.i, path, head };
    Some(Receipt { leaf: ledger::Leaf::Entry(leaf.clone()), proof }.to_string())
}

/// Whether a line is here with its leaf.
fn is_held(model: &Model, id: LineId) -> bool {
    model.lines.get(&id).is_some_and(Kept::is_sent)
}

fn given(model: &mut Model, read: ReadLine, puts: &mut Vec<Put>) {
    let id = read.line.id();
    if is_held(model, id) {
        return;
    }
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("canonical bytes are UTF-8");
    let stored = crate::stored::StoredLine {
        id,
        line: text(read.line.bytes().to_vec()),
        sig: read.line.signature(),
        private: read.private.as_ref().and_then(|p| p.to_bytes().ok()).map(text),
        receipt: None,
        leaf: Some(text(ledger::Leaf::Entry(read.leaf.clone()).to_bytes())),
        aside: None,
    };
    puts.push(Put::Line(Box::new(stored.clone())));
    let kept = Kept { line: read.line, private: read.private, leaf: Some(read.leaf), stored };
    model.take(kept);
}

fn remember(
    model: &mut Model,
    keys: Vec<crate::sync::KnownKey>,
    watches: Vec<ledger::WatchId>,
    people: Vec<crate::sync::Named>,
) {
    for key in keys {
        model.log.keys.retain(|known| known.dev != key.dev);
        model.log.keys.push(key);
    }
    if !watches.is_empty() {
        model.log.watches = watches;
    }
    if !people.is_empty() {
        model.log.people = people;
    }
    let chosen = model.choices.watch.as_ref();
    let on_duty_elsewhere = chosen.is_some_and(|watch| model.watches.contains_key(watch));
    if !on_duty_elsewhere {
        model.choices.watch = model.log.watches.first().cloned();
    }
}

/// Documents that the watch on the screen names and that are not here yet, then photos to send.
fn move_blob(model: &mut Model, at: &Moment, effects: &mut Effects) {
    let Some(device) = model.device.as_ref().map(|device| device.key.device()) else { return };
    let up = model.unsent_blobs().map(|blob| (blob.blob, true));
    let moves: Vec<(Digest, bool)> =
        wanted(model).into_iter().map(|digest| (digest, false)).chain(up).collect();
    let fresh = moves.iter().find(|(digest, _)| !model.syncing.tried.contains(digest)).copied();
    let Some((digest, up)) = fresh.or(moves.first().copied()) else { return };
    if fresh.is_none() {
        model.syncing.tried.clear();
    }
    let path = format!("/blob/{digest}");
    // A photo's bytes are not here; its digest, which the note needs, is its name.
    let mut note = RequestNote::new(device, &path, b"", at.wall_ms);
    if up {
        note.body = digest;
    }
    let ticket = model.ticket();
    model.syncing.moving = Some(Moving { ticket, digest, up, sent_mono_ms: at.mono_ms });
    let (method, body) =
        if up { (Method::Put, Body::Blob(digest)) } else { (Method::Get, Body::Empty) };
    effects.push(Effect::Send { ticket, method, path, body, note: note.text() });
}

fn wanted(model: &Model) -> Vec<Digest> {
    let Some(state) = &model.state else { return Vec::new() };
    let named = [
        state.opening.as_ref().map(|opening| opening.card),
        state.plan.as_ref().map(|plan| plan.set.plan),
        state.route_of(model.person()).and_then(|route| route.set.route),
        state.instructions.as_ref().map(|instructions| instructions.set.instructions),
        state.terms.as_ref().map(|terms| terms.set.terms),
    ];
    named.into_iter().flatten().filter(|digest| !model.documents.has(digest)).collect()
}

fn blob_answered(
    model: &mut Model,
    at: &Moment,
    moving: &Moving,
    status: u16,
    body: &[u8],
    effects: &mut Effects,
) {
    let put = match (moving.up, status) {
        (true, 200..=299) => model.blobs.get_mut(&moving.digest).map(|blob| {
            blob.sent = true;
            Put::Blob(StoredBlob { ..blob.clone() })
        }),
        (false, 200) if Digest::of(body) == moving.digest => {
            let blob = model.documents.add(body);
            Some(Put::Document { blob, bytes: body.to_vec() })
        }
        _ => None,
    };
    let Some(put) = put else {
        // The server answered: the next one may well go through at once.
        model.syncing.tried.insert(moving.digest);
        blob_failed(model, at);
        if model.syncing.tried.len() < wanted(model).len() + model.blobs.len() {
            model.syncing.blob_next_mono_ms = at.mono_ms + BACK_OFF_MS;
        }
        return;
    };
    model.syncing.tried.remove(&moving.digest);
    model.syncing.blob_failures = 0;
    model.syncing.blob_next_mono_ms = at.mono_ms;
    let ticket = model.ticket();
    effects.push(Effect::Save { ticket, guard: None, puts: vec![put] });
}

fn failed(model: &mut Model, at: &Moment) {
    model.syncing.failures += 1;
    model.syncing.next_mono_ms = at.mono_ms + back_off(model.syncing.failures);
}

fn blob_failed(model: &mut Model, at: &Moment) {
    model.syncing.blob_failures += 1;
    model.syncing.blob_next_mono_ms = at.mono_ms + back_off(model.syncing.blob_failures);
}

fn back_off(failures: u32) -> i64 {
    (BACK_OFF_MS << failures.min(6).saturating_sub(1)).min(BACK_OFF_MAX_MS)
}

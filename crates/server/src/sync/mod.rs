//! `POST /sync`: a phone's lines in, receipts and others' lines out.

use crate::device::Device;
use crate::problem::Problem;
use crate::server::App;
use crate::sync_heads::{Heads, is_gone};
use crate::{intake, people, restored};
use axum::extract::State;
use axum::{Extension, Json};
use ledger::{DeviceId, Head, HeadRef, LineId, SignedHead, WatchId};
use phone::sync::{
    GivenLine, Is, KnownKey, LineFrom, Outcome, Reply, Request, SentLine, VERSION, WatchFrom,
};
use std::collections::BTreeSet;
use store::{Incoming, PrivateLine, StoredLine};

/// Others' lines given at a time; a phone asks again for more.
const GIVEN_MAX: usize = 500;

/// What is known of a line before the head that its receipt leads to.
struct Judged {
    id: LineId,
    outcome: Result<store::Outcome, String>,
}

/// `POST /sync`
pub(crate) async fn answer(
    State(app): State<App>,
    Extension(Device(dev)): Extension<Device>,
    Json(request): Json<Request>,
) -> Result<Json<Reply>, Problem> {
    let t1 = app.clock.now_ms();
    if request.v != VERSION {
        let says = format!("version {} of the conversation is not known here", request.v);
        return Err(Problem::Bad(says));
    }
    let judged = take(&app, dev, &request.lines).await?;
    after_taking(&app, &judged, &request.lines).await?;
    // Only now: a phone that comes back with its lines is judged with them.
    app.heard(dev);
    let held = request.head.as_ref();
    let given = others(&app, dev, &request.watches, held).await?;
    let head = app.publish().await?;
    let Head { origin, size, .. } = head.claimed().clone();
    let consistency = match held.filter(|held| held.origin == origin) {
        Some(held) if held.size > 0 && held.size < size => {
            app.store.consistency(&origin, held.size, size).await?
        }
        _ => Vec::new(),
    };
    let mut heads = Heads::new(&app, head);
    let mut outcomes = Vec::new();
    for line in judged {
        outcomes.push(outcome(&app, &mut heads, line).await?);
    }
    let more = given.len() > GIVEN_MAX;
    let lines = give(&app, &mut heads, &given[..given.len().min(GIVEN_MAX)]).await?;
    let (head, logs) = heads.told(held);
    Ok(Json(Reply {
        v: VERSION,
        t1,
        t2: app.clock.now_ms(),
        head: head.to_string(),
        consistency,
        outcomes,
        keys: keys(&app, &given).await?,
        lines,
        watches: crate::enrolment::watches_of(&app, dev),
        people: people::who_may_take_over(&app, dev).await?,
        more,
        logs,
    }))
}

/// What follows from lines that were just taken: a line after the release changes where its chain ends,
/// which is stated again.
async fn after_taking(app: &App, judged: &[Judged], lines: &[SentLine]) -> Result<(), Problem> {
    let taken = judged.iter().zip(lines);
    let taken = taken.filter(|(line, _)| matches!(line.outcome, Ok(store::Outcome::Received(_))));
    let taken: Vec<ledger::Line> =
        taken.filter_map(|(_, sent)| serde_json::from_str(&sent.line).ok()).collect();
    if restored::refills(app) {
        for line in &taken {
            restored::list_again(app, line).await?;
        }
    }
    let watches: BTreeSet<&WatchId> = taken.iter().map(|line| &line.watch).collect();
    for watch in watches {
        let released_ms = app.book().watch(watch).and_then(|live| live.standing.released_ms);
        if released_ms.is_some() {
            crate::seal::seal(app, watch).await?;
        }
    }
    Ok(())
}

/// Verifies and appends a phone's lines. One that cannot be taken stops no other.
async fn take(app: &App, dev: DeviceId, lines: &[SentLine]) -> Result<Vec<Judged>, Problem> {
    let mut judged = Vec::new();
    let mut incoming = Vec::new();
    for sent in lines {
        let id = sent.signed().id();
        if restored::refills(app)
            && let Ok(line) = serde_json::from_str::<ledger::Line>(&sent.line)
        {
            restored::let_in_again(app, dev, &line.watch).await?;
        }
        match check(app, dev, sent) {
            Ok(line) => {
                incoming.push(line);
                judged.push(Judged { id, outcome: Err(String::new()) });
            }
            Err(says) => judged.push(Judged { id, outcome: Err(says) }),
        }
    }
    if incoming.is_empty() {
        return Ok(judged);
    }
    let ids: Vec<LineId> = incoming.iter().map(|incoming| incoming.line.id()).collect();
    let appended = intake::take_in(app, incoming).await?;
    for (id, outcome) in ids.into_iter().zip(appended.outcomes) {
        let waiting = judged
            .iter_mut()
            .find(|line| line.id == id && matches!(&line.outcome, Err(says) if says.is_empty()));
        if let Some(line) = waiting {
            line.outcome = Ok(outcome);
        }
    }
    Ok(judged)
}

fn check(app: &App, dev: DeviceId, sent: &SentLine) -> Result<Incoming, String> {
    let book = app.book();
    let known = book.device(dev).ok_or("this device is not let in, or no longer")?;
    let refills = restored::refills(app);
    let writer = match sent.stated_device().filter(|writer| *writer != dev) {
        // Where the end of a log was lost a phone brings what it holds of others: of this server, too,
        // and of phones that may speak no longer.
        Some(writer) if refills => book.any_device(writer).unwrap_or(known),
        // What it took along for a phone that cannot send: a phone that is let in and had a part in it.
        Some(writer) if !app.scribe.is_ours(writer) => {
            let had_a_part = stated_watch(sent).is_some_and(|watch| book.may(writer, &watch));
            let other = book.device(writer).filter(|_| had_a_part);
            other.ok_or("the device that wrote this is not let in to its watch, or no longer")?
        }
        _ => known,
    };
    let line = sent.verify(&writer.key).map_err(|fault| fault.to_string())?;
    if !book.may(dev, &line.watch) || (line.dev != dev && line.watch.is_org()) {
        return Err(format!("this device has no part in {}", line.watch));
    }
    if let Some(kind) = crate::house_only::refuses(&line)
        && !app.scribe.is_ours(line.dev)
    {
        return Err(format!("only the house states {kind}: ask the desk to write it"));
    }
    if !line.watch.is_org() && book.watch(&line.watch).is_none() && !refills {
        return Err(format!("there is no watch {}", line.watch));
    }
    Ok(Incoming { line, private: sent.private.clone().map(String::into_bytes) })
}

/// The watch that a line says it is of; nothing is checked.
fn stated_watch(sent: &SentLine) -> Option<WatchId> {
    serde_json::from_str::<ledger::Line>(&sent.line).ok().map(|line| line.watch)
}

async fn outcome(app: &App, heads: &mut Heads, line: Judged) -> Result<Outcome, Problem> {
    let id = line.id;
    let bare =
        |is| Outcome { id, is, leaf: None, proof: None, log: None, missing: None, says: None };
    let (is, place) = match line.outcome {
        Err(says) => return Ok(Outcome { says: Some(says), ..bare(Is::Refused) }),
        Ok(store::Outcome::Refused(refusal)) => {
            return Ok(Outcome { says: Some(refusal.to_string()), ..bare(Is::Refused) });
        }
        Ok(store::Outcome::Forked { with }) => {
            let says = format!("another line, {with}, has this place in the chain");
            return Ok(Outcome { says: Some(says), ..bare(Is::Forked) });
        }
        Ok(store::Outcome::Held { missing }) => {
            let first = missing.first().map(|range| (range.start, range.end - 1));
            return Ok(Outcome { missing: first, ..bare(Is::Held) });
        }
        Ok(store::Outcome::Received(place)) => (Is::Received, place),
        Ok(store::Outcome::Again(place)) => (Is::Again, place),
    };
    let (head, log) = heads.of(app, &place.origin).await?;
    let receipts = app.store.receipts(&head, &[place.index]).await?;
    let receipt = receipts.into_iter().next();
    let receipt = receipt.ok_or_else(|| Problem::Machine("the receipt is missing".into()))?;
    Ok(Outcome {
        leaf: String::from_utf8(receipt.leaf.to_bytes()).ok(),
        proof: Some(receipt.proof.path),
        log,
        ..bare(is)
    })
}

/// Other devices' lines of the watches asked for, in the order of the log; one more than is given.
async fn others(
    app: &App,
    dev: DeviceId,
    asked: &[WatchFrom],
    held: Option<&HeadRef>,
) -> Result<Vec<StoredLine>, Problem> {
    let logs = app.logs();
    let mut found = Vec::new();
    for wanted in asked.iter().filter(|wanted| !wanted.watch.is_org()) {
        if !app.book().may(dev, &wanted.watch) {
            continue;
        }
        // A mark in a log of which nothing is left says nothing: the watch is given from its start.
        let log = wanted.log.as_deref().or(held.map(|held| held.origin.as_str()));
        let log = log.filter(|log| logs.knows(log) && !is_gone(&logs, log));
        found.extend(of_watch(app, dev, &wanted.watch, (log, wanted.from)).await?);
    }
    found.sort_by_key(|line| (logs.rank(&line.place.origin), line.place.index));
    found.truncate(GIVEN_MAX + 1);
    Ok(found)
}

async fn of_watch(
    app: &App,
    dev: DeviceId,
    watch: &WatchId,
    (log, from): (Option<&str>, u64),
) -> Result<Vec<StoredLine>, Problem> {
    let mut found = Vec::new();
    let mut after = log.zip(from.checked_sub(1)).map(|(log, index)| store::Place {
        origin: log.into(),
        index,
        rx: app.received_now(),
    });
    while found.len() <= GIVEN_MAX {
        let page = app.store.lines_of_watch(watch, after.as_ref(), GIVEN_MAX as u32 + 1).await?;
        let Some(last) = page.last() else { break };
        after = Some(last.place.clone());
        found.extend(page.into_iter().filter(|line| line.dev != dev));
    }
    Ok(found)
}

/// Lines in the order of the logs, each with the proof that leads to the head of its log.
async fn give(
    app: &App,
    heads: &mut Heads,
    lines: &[StoredLine],
) -> Result<Vec<GivenLine>, Problem> {
    let mut given = Vec::new();
    for of_log in lines.chunk_by(|a, b| a.place.origin == b.place.origin) {
        let (head, log) = heads.of(app, &of_log[0].place.origin).await?;
        given.extend(give_of_log(app, &head, log, of_log).await?);
    }
    Ok(given)
}

async fn give_of_log(
    app: &App,
    head: &SignedHead,
    log: Option<String>,
    lines: &[StoredLine],
) -> Result<Vec<GivenLine>, Problem> {
    let indexes: Vec<u64> = lines.iter().map(|line| line.place.index).collect();
    let receipts = app.store.receipts(head, &indexes).await?;
    let mut given = Vec::new();
    for (stored, receipt) in lines.iter().zip(receipts) {
        let private = match app.store.private(&stored.place).await? {
            PrivateLine::Here(bytes) => String::from_utf8(bytes).ok(),
            PrivateLine::Absent | PrivateLine::Erased => None,
        };
        given.push(GivenLine {
            line: String::from_utf8_lossy(&stored.signed.bytes).into_owned(),
            sig: stored.signed.signature,
            private,
            leaf: String::from_utf8_lossy(&receipt.leaf.to_bytes()).into_owned(),
            proof: receipt.proof.path,
            log: log.clone(),
        });
    }
    Ok(given)
}

/// The keys that the given lines are signed with, and the server's own.
async fn keys(app: &App, lines: &[StoredLine]) -> Result<Vec<KnownKey>, Problem> {
    let mut devices: BTreeSet<DeviceId> = lines.iter().map(|line| line.dev).collect();
    devices.extend(app.scribe.all_keys().map(|key| key.device()));
    let mut keys = Vec::new();
    for dev in devices {
        let Some(known) = app.book().any_device(dev).cloned() else { continue };
        let name = match &known.person {
            Some(person) => people::name_of(app, person).await?,
            None => None,
        };
        keys.push(KnownKey { dev, key: known.key, role: known.role, person: known.person, name });
    }
    Ok(keys)
}

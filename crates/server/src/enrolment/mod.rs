//! How a phone is let in: a one-time link, the phone's own key, six digits read aloud.

mod link_page;
mod phone_side;
mod replacing;

pub(crate) use link_page::{decide, live, once_more, qr, show};
pub(crate) use phone_side::{ask, begin};
pub(crate) use replacing::replace;

use crate::book::Known;
use crate::intake::{self, Grant};
use crate::problem::Problem;
use crate::secret;
use crate::server::App;
use crate::settings::{ENROLMENTS, Kept};
use ledger::{DeviceId, Digest, PersonId, PublicKey, Signature, SignedLine, Verified, WatchId};
use phone::sync::confirmation_code;
use record::{Enrolled, KeyKept, Role};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Mutex;
use store::Incoming;

/// A link for one phone. Kept by the digest of its token.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Enrolment {
    pub(crate) person: PersonId,
    pub(crate) role: Role,
    /// The one watch it is for; none: all.
    pub(crate) watch: Option<WatchId>,
    pub(crate) by: PersonId,
    pub(crate) until_ms: i64,
    pub(crate) stage: Stage,
    /// The phones that are trusted no longer once this one is in.
    #[serde(default)]
    pub(crate) replaces: Vec<DeviceId>,
}

impl Enrolment {
    /// A link that nobody used yet, for all watches.
    fn new(app: &App, person: PersonId, role: Role, by: PersonId) -> Enrolment {
        let until_ms = app.clock.now_ms() + app.options.links_last.as_millis() as i64;
        let (stage, replaces) = (Stage::Made, Vec::new());
        Enrolment { person, role, watch: None, by, until_ms, stage, replaces }
    }
}

/// How far it has come.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "is", rename_all = "snake_case")]
pub(crate) enum Stage {
    /// The link was made.
    Made,
    /// A phone holds it and waits for the code to be compared.
    Waiting(Candidate),
    /// The phone is in.
    In {
        /// Which device.
        device: DeviceId,
        /// Its key.
        key: PublicKey,
    },
    /// Somebody said no.
    Refused,
}

/// A phone that asks to be let in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Candidate {
    pub(crate) key: PublicKey,
    pub(crate) keep: KeyKept,
    pub(crate) line: String,
    pub(crate) sig: Signature,
    /// The six digits.
    pub(crate) code: String,
}

impl Kept for Enrolment {
    const COLLECTION: &'static str = ENROLMENTS;
}

/// Tokens whose links the desk may still show. Only in memory: the settings hold digests.
#[derive(Debug, Default)]
pub(crate) struct Tokens(Mutex<BTreeMap<Digest, String>>);

impl Tokens {
    fn keep(&self, token: &str) {
        let mut tokens = self.0.lock().expect("nothing panics under this lock");
        tokens.insert(secret::token_digest(token), token.to_owned());
    }

    fn get(&self, digest: Digest) -> Option<String> {
        self.0.lock().expect("nothing panics under this lock").get(&digest).cloned()
    }

    fn forget(&self, digest: Digest) {
        self.0.lock().expect("nothing panics under this lock").remove(&digest);
    }
}

/// Makes a link and returns the digest that names it.
pub(crate) async fn make(
    app: &App,
    person: PersonId,
    role: Role,
    watch: Option<WatchId>,
    by: PersonId,
) -> Result<Digest, Problem> {
    keep_new(app, &Enrolment { watch, ..Enrolment::new(app, person, role, by) }).await
}

/// Keeps an enrolment under a token that was just drawn.
async fn keep_new(app: &App, enrolment: &Enrolment) -> Result<Digest, Problem> {
    let token = secret::token();
    let digest = secret::token_digest(&token);
    app.settings.add(&digest.to_string(), enrolment).await?;
    app.tokens.keep(&token);
    Ok(digest)
}

/// The link that a token makes.
fn link(app: &App, token: &str) -> String {
    format!("{}/phone/#enrol={token}", app.public())
}

/// The link of an enrolment that was made since this start.
pub(crate) fn link_of(app: &App, digest: Digest) -> Option<String> {
    app.tokens.get(digest).map(|token| link(app, &token))
}

/// Lets a waiting phone in: its own first line, then ours that names who let it in.
async fn let_in(app: &App, digest: Digest, by: &PersonId) -> Result<(), Problem> {
    let Some(mut enrolment) = app.settings.get::<Enrolment>(&digest.to_string()).await? else {
        return Err(Problem::NotFound);
    };
    let Stage::Waiting(candidate) = enrolment.stage.clone() else { return Err(Problem::Changed) };
    let line = first_line(&candidate)?;
    let device = line.dev;
    let watches = match replacing::watches_before(app, &enrolment) {
        Some(before) => before,
        None => watches_for(app, &enrolment),
    };
    app.settings.put(&device.to_string(), &Grant { watches: watches.clone() }).await?;
    app.book_mut().know(
        device,
        Known {
            key: candidate.key,
            role: enrolment.role,
            person: Some(enrolment.person.clone()),
            watches,
            revoked: false,
            heard_ms: Some(app.clock.now_ms()),
            battery: None,
        },
    );
    intake::take_in(app, vec![Incoming { line, private: None }], intake::Whose::Device).await?;
    let entry = Enrolled {
        device,
        key: candidate.key,
        keep: candidate.keep,
        role: enrolment.role,
        person: Some(enrolment.person.clone()),
        token: Some(digest),
        by: Some(by.clone()),
    };
    app.scribe.write(app, &WatchId::org(), by, vec![entry.clone().into()]).await?;
    replacing::take_over(app, &enrolment, &entry, by).await?;
    enrolment.stage = Stage::In { device, key: candidate.key };
    app.settings.put(&digest.to_string(), &enrolment).await?;
    app.tokens.forget(digest);
    app.tell(None);
    Ok(())
}

/// What a new phone may see: a guard's, the watch of its link and those the guard is planned for; a
/// shift lead's without a watch in its link, all.
fn watches_for(app: &App, enrolment: &Enrolment) -> Option<BTreeSet<WatchId>> {
    let of_link = enrolment.watch.clone();
    if of_link.is_none() && enrolment.role != Role::Guard {
        return None;
    }
    let now_ms = app.clock.now_ms();
    let book = app.book();
    let planned = book.watches().filter(|(_, live)| {
        let state = live.about(now_ms);
        let scheduled = state.iter().flat_map(|state| &state.scheduled);
        scheduled.into_iter().any(|shift| shift.person == enrolment.person)
    });
    Some(of_link.into_iter().chain(planned.map(|(id, _)| id.clone())).collect())
}

/// The phone's `enrolled` line: number 0 of its own `org` chain, about itself. It proves that the
/// phone holds the key.
fn first_line(candidate: &Candidate) -> Result<Verified<ledger::Line>, Problem> {
    let bytes = candidate.line.clone().into_bytes();
    let signed = SignedLine { bytes, signature: candidate.sig };
    let line = Verified::check(signed, &candidate.key)
        .map_err(|fault| Problem::Device(fault.to_string()))?;
    let about_itself = match record::Entry::of(&line) {
        Ok(record::Entry::Enrolled(body)) => {
            body.key == candidate.key && body.device == line.dev && body.by.is_none()
        }
        _ => false,
    };
    if !about_itself || !line.watch.is_org() || line.seq != 0 {
        let says = "expected the phone's own `enrolled` line, the first of its `org` chain";
        return Err(Problem::Device(says.to_owned()));
    }
    Ok(line)
}

fn code(key: &PublicKey, token: &str) -> String {
    confirmation_code(key, token)
}

/// The open watches that a device may see.
pub(crate) fn watches_of(app: &App, dev: DeviceId) -> Vec<WatchId> {
    let book = app.book();
    let now_ms = app.clock.now_ms();
    book.watches()
        .filter(|(id, live)| !live.standing.is_over(now_ms) && book.may(dev, id))
        .map(|(id, _)| id.clone())
        .collect()
}

/// Lets every phone of a person see one more watch.
pub(crate) async fn grant(app: &App, person: &PersonId, watch: &WatchId) -> Result<(), Problem> {
    let devices: Vec<(DeviceId, Option<BTreeSet<WatchId>>)> = app
        .book()
        .devices()
        .filter(|(_, known)| known.person.as_ref() == Some(person) && !known.revoked)
        .map(|(id, known)| (id, known.watches.clone()))
        .collect();
    for (id, watches) in devices {
        let Some(mut watches) = watches else { continue };
        watches.insert(watch.clone());
        let grant = Grant { watches: Some(watches) };
        app.settings.put(&id.to_string(), &grant).await?;
        if let Some(known) = app.book_mut().device_mut(id) {
            known.watches = grant.watches;
        }
    }
    Ok(())
}

//! What is folded from the record and kept in memory: the live watches and the known devices.
//! All of it can be dropped and built again from the store; of a watch that is over it is (`shelf.rs`).

use crate::alerts::ladder::Ladders;
use crate::house_chain::Progress;
use crate::people::Person;
use crate::standing::Standing;
use crate::succession::Leaf;
use floorplan::Plan;
use ledger::{DeviceId, Digest, PersonId, PublicKey, WatchId};
use record::documents::{Instructions, SiteCard, Terms};
use record::{Role, ZoneId};
use std::collections::{BTreeMap, BTreeSet};

/// Without a request of the phone for so long it is out of touch, ms (our own default).
pub(crate) const TOUCH_MS: i64 = 120_000;

/// Everything folded.
#[derive(Debug, Default)]
pub(crate) struct Book {
    devices: BTreeMap<DeviceId, Known>,
    watches: BTreeMap<WatchId, Live>,
    /// People as the settings keep them.
    pub(crate) people: BTreeMap<PersonId, Person>,
    /// Whom alerts reach, as the settings keep it.
    pub(crate) ladders: Ladders,
    /// Watches whose report should be out, since when, ms UTC.
    pub(crate) undelivered: BTreeMap<WatchId, i64>,
    /// In which watches a line names a blob.
    blobs: BTreeMap<Digest, BTreeSet<WatchId>>,
    /// In which watches it is written that a blob was erased.
    erased: BTreeMap<Digest, BTreeSet<WatchId>>,
    /// Blobs that a device brought since the start: it may ask whether they are there before the line
    /// that names them is.
    brought: BTreeSet<(DeviceId, Digest)>,
    /// What waits for a second person, as the settings keep it.
    pub(crate) acts: BTreeMap<String, crate::second::Act>,
    /// How far the house's own chain is folded.
    pub(crate) house: Progress,
    /// Watches of which the log has, or may have, lines that are not folded here, and from when it is tried to read
    /// them, ms UTC.
    pub(crate) behind: BTreeMap<WatchId, i64>,
    /// When which watch must be looked at again, ms UTC.
    agenda: BTreeSet<(i64, WatchId)>,
    /// When the leaf at an index of a log was received; filled as lines quote heads.
    received: BTreeMap<(String, u64), i64>,
}

/// So many instants of leaves are remembered: lines quote the newest heads, older ones are read again.
const RECEIVED_MAX: usize = 4_096;

/// A device that was let in.
#[derive(Debug, Clone)]
pub(crate) struct Known {
    pub(crate) key: PublicKey,
    pub(crate) role: Role,
    pub(crate) person: Option<PersonId>,
    /// Which watches it may see; none: all.
    pub(crate) watches: Option<BTreeSet<WatchId>>,
    pub(crate) revoked: bool,
    /// When it last spoke with us, ms UTC.
    pub(crate) heard_ms: Option<i64>,
    pub(crate) battery: Option<u8>,
}

impl Known {
    /// The server itself, under a key of its own.
    pub(crate) fn server(key: PublicKey) -> Known {
        Known {
            key,
            role: Role::Server,
            person: None,
            watches: None,
            revoked: false,
            heard_ms: None,
            battery: None,
        }
    }
}

/// One watch with the documents that its lines name.
#[derive(Debug, Clone)]
pub(crate) struct Live {
    /// Its lines; none while it is put away.
    pub(crate) fold: Option<watch::Watch>,
    /// The site it was opened at.
    pub(crate) site: Option<record::SiteId>,
    /// Up to where its lines are folded.
    pub(crate) last: Option<Leaf>,
    /// When a line was last folded or somebody last asked for it, ms UTC.
    pub(crate) used_ms: i64,
    /// With how many lines it was last seen that no report of it is owed another look.
    pub(crate) reported: Option<usize>,
    /// The blobs that its lines name.
    pub(crate) blobs: BTreeSet<Digest>,
    /// Those of which a line of ours says that they were erased.
    pub(crate) erased: BTreeSet<Digest>,
    pub(crate) documents: Documents,
    /// As it was when it was last looked at.
    pub(crate) standing: Standing,
    looked_at_ms: i64,
    /// How much of what the record states is in the outbox already; begins anew at a start.
    pub(crate) filled: usize,
}

/// The documents in force.
#[derive(Debug, Clone, Default)]
pub(crate) struct Documents {
    /// The site's name, as the card has it; known also while the watch is put away.
    pub(crate) name: String,
    pub(crate) card: Option<SiteCard>,
    pub(crate) plan: Option<Plan>,
    pub(crate) terms: Option<Terms>,
    pub(crate) instructions: Option<Instructions>,
}

impl Live {
    /// One of which no line is folded yet.
    pub(crate) fn empty(id: &WatchId) -> Live {
        Live {
            fold: Some(watch::Watch::new(id.clone())),
            site: None,
            last: None,
            used_ms: i64::MIN,
            reported: None,
            blobs: BTreeSet::new(),
            erased: BTreeSet::new(),
            documents: Documents::default(),
            standing: Standing::default(),
            looked_at_ms: i64::MAX,
            filled: 0,
        }
    }

    /// How it is at an instant; none while it is put away.
    pub(crate) fn about(&self, now_ms: i64) -> Option<watch::State> {
        self.fold.as_ref().map(|fold| fold.about(now_ms))
    }

    /// Whether it is to be looked at once more.
    pub(crate) fn is_on_the_agenda(&self) -> bool {
        self.looked_at_ms != i64::MAX
    }
}

impl Documents {
    /// The site's name.
    pub(crate) fn name(&self) -> &str {
        &self.name
    }

    /// What people call a zone.
    pub(crate) fn zone<'a>(&'a self, id: &'a ZoneId) -> &'a str {
        let zones = self.plan.iter().flat_map(|plan| &plan.zones);
        zones
            .into_iter()
            .find(|zone| zone.id.as_str() == id.as_str())
            .map_or(id.as_str(), |zone| zone.name.as_str())
    }
}

impl Book {
    /// What to call a person; none if the settings no longer know them.
    pub(crate) fn name(&self, person: &PersonId) -> Option<&str> {
        self.people.get(person).map(|person| person.name.as_str())
    }

    /// A device that may speak.
    pub(crate) fn device(&self, id: DeviceId) -> Option<&Known> {
        self.devices.get(&id).filter(|known| !known.revoked)
    }

    /// A device, also one that may speak no longer: what it signed before stays true.
    pub(crate) fn any_device(&self, id: DeviceId) -> Option<&Known> {
        self.devices.get(&id)
    }

    /// All devices by id.
    pub(crate) fn devices(&self) -> impl Iterator<Item = (DeviceId, &Known)> {
        self.devices.iter().map(|(id, known)| (*id, known))
    }

    pub(crate) fn know(&mut self, id: DeviceId, known: Known) {
        self.devices.entry(id).or_insert(known);
    }

    pub(crate) fn device_mut(&mut self, id: DeviceId) -> Option<&mut Known> {
        self.devices.get_mut(&id)
    }

    /// Whether a device may see and write on a watch.
    pub(crate) fn may(&self, id: DeviceId, watch: &WatchId) -> bool {
        self.device(id).is_some_and(|known| match &known.watches {
            None => true,
            Some(watches) => watch.is_org() || watches.contains(watch),
        })
    }

    /// A line of a watch names a blob.
    pub(crate) fn names_blob(&mut self, watch: &WatchId, blob: Digest) {
        self.blobs.entry(blob).or_default().insert(watch.clone());
    }

    /// A device has brought a blob.
    pub(crate) fn brings_blob(&mut self, id: DeviceId, blob: Digest) {
        self.brought.insert((id, blob));
    }

    /// It is written in a watch that a blob was erased.
    pub(crate) fn erases_blob(&mut self, watch: &WatchId, blob: Digest) {
        self.erased.entry(blob).or_default().insert(watch.clone());
    }

    /// Whether a line of any watch names a blob.
    pub(crate) fn is_named(&self, blob: Digest) -> bool {
        self.blobs.contains_key(&blob)
    }

    /// Whether a blob was erased and is not to come back: no watch names it in which it was not.
    pub(crate) fn is_erased(&self, blob: Digest) -> bool {
        let named = self.blobs.get(&blob).into_iter().flatten();
        let erased = self.erased.get(&blob);
        erased.is_some_and(|erased| named.into_iter().all(|watch| erased.contains(watch)))
    }

    /// Whether no other watch names a blob.
    pub(crate) fn is_alone_with(&self, watch: &WatchId, blob: Digest) -> bool {
        self.blobs.get(&blob).is_none_or(|named| named.iter().all(|other| other == watch))
    }

    /// Whether a device may read a blob: one that a line of a watch names which it may see, or that it
    /// brought itself. Knowing a digest opens nothing.
    pub(crate) fn may_read_blob(&self, id: DeviceId, blob: Digest) -> bool {
        let named = self.blobs.get(&blob).into_iter().flatten();
        self.device(id).is_some()
            && (self.brought.contains(&(id, blob)) || named.into_iter().any(|w| self.may(id, w)))
    }

    /// Whether a device has spoken with us just now.
    pub(crate) fn in_touch(&self, id: DeviceId, now_ms: i64) -> bool {
        let heard = self.devices.get(&id).and_then(|known| known.heard_ms);
        heard.is_some_and(|heard_ms| now_ms - heard_ms < TOUCH_MS)
    }

    /// The live watches by id.
    pub(crate) fn watches(&self) -> impl Iterator<Item = (&WatchId, &Live)> {
        self.watches.iter()
    }

    pub(crate) fn watch(&self, id: &WatchId) -> Option<&Live> {
        self.watches.get(id)
    }

    /// As [`Book::know`]; what was known of the device before does not stand.
    pub(crate) fn know_as(&mut self, id: DeviceId, known: Known) {
        self.devices.insert(id, known);
    }

    /// The watch, begun if it is not there.
    pub(crate) fn live(&mut self, id: &WatchId) -> &mut Live {
        self.watches.entry(id.clone()).or_insert_with(|| Live::empty(id))
    }

    /// Whether a watch is known and its lines are not folded here.
    pub(crate) fn is_put_away(&self, id: &WatchId) -> bool {
        self.watches.get(id).is_some_and(|live| live.fold.is_none())
    }

    /// Takes the place of what is held of a watch; when it is to be looked at stands.
    pub(crate) fn set_live(&mut self, id: &WatchId, live: Live) {
        let known = self.live(id);
        let looked_at_ms = known.looked_at_ms;
        *known = Live { looked_at_ms, ..live };
    }

    /// When the leaf at an index of a log was received, if that is remembered, ms UTC.
    pub(crate) fn received_ms(&self, leaf: &(String, u64)) -> Option<i64> {
        self.received.get(leaf).copied()
    }

    /// Remembers when a leaf was received, ms UTC.
    pub(crate) fn note_received(&mut self, leaf: (String, u64), rx_ms: i64) {
        if self.received.len() >= RECEIVED_MAX {
            self.received.pop_first();
        }
        self.received.insert(leaf, rx_ms);
    }

    /// Has a watch looked at by an instant, ms UTC; an earlier plan stands.
    pub(crate) fn plan_look(&mut self, id: &WatchId, at_ms: i64) {
        let Some(live) = self.watches.get_mut(id) else { return };
        if live.looked_at_ms <= at_ms {
            return;
        }
        let before = std::mem::replace(&mut live.looked_at_ms, at_ms);
        self.agenda.remove(&(before, id.clone()));
        self.agenda.insert((at_ms, id.clone()));
    }

    /// Takes back that a watch is to be looked at.
    pub(crate) fn forget_look(&mut self, id: &WatchId) {
        let Some(live) = self.watches.get_mut(id) else { return };
        let planned = std::mem::replace(&mut live.looked_at_ms, i64::MAX);
        self.agenda.remove(&(planned, id.clone()));
    }

    /// Takes the watches whose instant has come.
    pub(crate) fn take_due(&mut self, now_ms: i64) -> Vec<WatchId> {
        let mut due = Vec::new();
        while let Some((at_ms, id)) = self.agenda.first().filter(|(at_ms, _)| *at_ms <= now_ms) {
            let entry = (*at_ms, id.clone());
            self.agenda.remove(&entry);
            if let Some(live) = self.watches.get_mut(&entry.1) {
                live.looked_at_ms = i64::MAX;
            }
            due.push(entry.1);
        }
        due
    }
}

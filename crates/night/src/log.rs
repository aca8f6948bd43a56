//! The devices and the log of a night: chains, clocks, signal, leaves.

use ledger::merkle::Tree;
use ledger::{Auth, Clk, Digest, HeadRef, Leaf, LogKey, PersonId, Verified, WatchId, leaf};
use ledger::{DeviceKey, Line, LineId, Private};
use record::{Draft, Entry, Place, Words};

/// Half-width of the server's error, ms.
pub(crate) const RXE_MS: i64 = 20;
/// Half-width of a measured offset, ms.
const OFFSET_ERROR_MS: i64 = 60;

/// One device: the server, or a guard's phone.
#[derive(Debug)]
pub(crate) struct Device {
    pub(crate) key: DeviceKey,
    pub(crate) org: Place,
    pub(crate) watch: Place,
    /// Wall clock minus true time, ms.
    pub(crate) ahead_ms: i64,
    /// Wall clock minus true time when last measured, ms, and when that was.
    measured: Option<(i64, i64)>,
    /// When the program on it started, ms UTC.
    started_ms: i64,
    boot: String,
    head: Option<HeadRef>,
    /// Stretches without signal, from and until, ms UTC.
    pub(crate) offline: Vec<(i64, i64)>,
    waiting: Vec<Waiting>,
}

/// A line without a receipt.
#[derive(Debug)]
pub(crate) struct Waiting {
    pub(crate) line: Verified<Line>,
    pub(crate) private: Option<Private>,
    pub(crate) words: Option<Words>,
}

/// A line that the log took in.
pub(crate) struct Taken {
    pub(crate) waiting: Waiting,
    pub(crate) index: u64,
    pub(crate) rx_ms: i64,
}

impl Device {
    pub(crate) fn new(key: DeviceKey, number: usize, watch: &WatchId, now_ms: i64) -> Device {
        let dev = key.device();
        Device {
            org: Place::start(dev, WatchId::new("org").expect("an id")),
            watch: Place::start(dev, watch.clone()),
            key,
            ahead_ms: 0,
            measured: None,
            started_ms: now_ms,
            boot: format!("boot-{number}-1"),
            head: None,
            offline: Vec::new(),
            waiting: Vec::new(),
        }
    }

    /// The program starts anew: the monotonic clock begins again.
    pub(crate) fn restart(&mut self, now_ms: i64) {
        self.started_ms = now_ms;
        self.boot.push('x');
    }

    pub(crate) fn in_signal(&self, at_ms: i64) -> bool {
        !self.offline.iter().any(|(from, until)| (*from..*until).contains(&at_ms))
    }

    fn clk(&self, at_ms: i64, tz: i64) -> Clk {
        Clk {
            wall: at_ms + self.ahead_ms,
            mono: at_ms - self.started_ms,
            boot: self.boot.clone(),
            off: self.measured.map(|(ahead_ms, _)| -ahead_ms),
            err: self.measured.map(|_| OFFSET_ERROR_MS),
            age: self.measured.map(|(_, when_ms)| at_ms - when_ms),
            tz,
        }
    }

    /// Signs what is stated, on the watch's chain or the organisation's.
    pub(crate) fn write(
        &mut self,
        who: &PersonId,
        at_ms: i64,
        tz: i64,
        entry: Entry,
        words: Words,
        org: bool,
    ) -> LineId {
        let place = if org { &self.org } else { &self.watch };
        let mut salt = [0; 16];
        salt.copy_from_slice(
            &Digest::of(format!("{}{}{}", place.dev, place.watch, place.seq).as_bytes()).0[..16],
        );
        let draft = Draft {
            who: who.clone(),
            auth: if who.as_str() == "p-server" { Auth::Device } else { Auth::Pin },
            clk: self.clk(at_ms, tz),
            head: self.head.clone(),
            app: "night".to_owned(),
            entry,
            words: words.clone(),
            salt,
        };
        let (line, private) = draft.line(place).expect("a night's entries are small and canonical");
        let signed = line.sign(&self.key).expect("the line was canonical");
        let line = Verified::check(signed, &self.key.public()).expect("signed just now");
        let id = line.id();
        let next = place.after(id);
        if org {
            self.org = next
        } else {
            self.watch = next
        }
        self.waiting.push(Waiting { line, private, words: (!words.is_empty()).then_some(words) });
        id
    }
}

/// The organisation's log.
#[derive(Debug)]
pub(crate) struct Log {
    pub(crate) key: LogKey,
    pub(crate) tree: Tree,
    pub(crate) leaves: Vec<Leaf>,
    last_rx_ms: i64,
}

impl Log {
    pub(crate) fn new(key: LogKey) -> Log {
        Log { key, tree: Tree::new(), leaves: Vec::new(), last_rx_ms: i64::MIN }
    }

    /// Takes in what a device has waiting, if it has signal; it learns the newest head and measures
    /// its offset. Receipt times never decrease.
    pub(crate) fn sync(&mut self, device: &mut Device, now_ms: i64) -> Vec<Taken> {
        if !device.in_signal(now_ms) {
            return Vec::new();
        }
        let mut taken = Vec::new();
        for waiting in std::mem::take(&mut device.waiting) {
            let rx_ms = now_ms.max(self.last_rx_ms);
            let index = self.leaves.len() as u64;
            let leaf = Leaf::Entry(leaf::Entry::of(&waiting.line, index, rx_ms, RXE_MS));
            self.tree.push(leaf.hash());
            self.leaves.push(leaf);
            self.last_rx_ms = rx_ms;
            taken.push(Taken { waiting, index, rx_ms });
        }
        device.measured = Some((device.ahead_ms, now_ms));
        device.head = self.head();
        taken
    }

    fn head(&self) -> Option<HeadRef> {
        let size = self.tree.size();
        (size > 0).then(|| HeadRef {
            origin: self.key.name().to_owned(),
            size,
            root: self.tree.root(),
        })
    }

    /// When the last leaf under a head was received, ms UTC.
    pub(crate) fn received_ms(&self, head: &HeadRef) -> Option<i64> {
        let last = usize::try_from(head.size.checked_sub(1)?).ok()?;
        self.leaves.get(last).map(|leaf| leaf.received().0)
    }
}

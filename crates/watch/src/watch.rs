//! The watch: lines and seals go in in any order, the state comes out.

use crate::corrections::{Corrections, Effective};
use crate::due::{self, Due};
use crate::fold;
use crate::held::{Held, Sealing};
use crate::kept::Kept;
use crate::looks::Looks;
use crate::place::Place;
use crate::state::State;
use ledger::order::{Map, Set};
use ledger::{DeviceId, LineId, WatchId};
use record::{Entry, Words, ZoneId};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// One watch as far as its lines are held here.
///
/// Every index below is a function of the set of lines and seals. A line costs logarithmic time to
/// add, wherever in the night it belongs.
#[derive(Debug, Clone)]
pub struct Watch {
    id: WatchId,
    /// Shared: a tree of lines moves its entries about, and a watch of some of the lines copies them.
    lines: BTreeMap<LineId, Arc<Kept>>,
    seals: BTreeMap<LineId, Sealing>,
    /// By device and number; more than one line at one place is a fork and counts nowhere.
    pub(crate) chains: Map<DeviceId, BTreeMap<u64, Place>>,
    corrections: Corrections,
    /// Lines that count, in the order in which they happened; then by chain, so that ties are decided.
    pub(crate) order: BTreeSet<(i64, DeviceId, u64, LineId)>,
    looks: Looks,
    erased: Set<LineId>,
    pub(crate) demands: due::Demands,
    revision: u64,
}

/// What stood at a place of a chain before a line came.
enum Before {
    Nothing,
    Line(LineId),
    Fork,
}

impl Watch {
    /// A watch without lines.
    pub fn new(id: WatchId) -> Watch {
        Watch {
            id,
            lines: BTreeMap::new(),
            seals: BTreeMap::new(),
            chains: Map::new(),
            corrections: Corrections::default(),
            order: BTreeSet::new(),
            looks: Looks::default(),
            erased: Set::new(),
            demands: due::Demands::default(),
            revision: 0,
        }
    }

    /// The watch's id.
    pub fn id(&self) -> &WatchId {
        &self.id
    }

    /// Grows with whatever was told to this watch. While it stands still, states about one instant are equal.
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// Takes a line in. False if it was held already (its seal and words are still taken) or belongs
    /// to another watch.
    pub fn add(&mut self, held: Held) -> bool {
        if held.line.watch != self.id {
            return false;
        }
        self.revision += 1;
        let id = held.line.id();
        if let Some(sealing) = held.sealing {
            self.seal(id, sealing);
        }
        if self.lines.contains_key(&id) {
            self.take_words(id, held.words);
            return false;
        }
        let mut kept = Kept::of(held);
        if self.erased.contains(&id) {
            kept.words = None;
        }
        if let Entry::Erased(body) = &kept.said
            && let Some(of) = body.line
        {
            self.erased.insert(of);
            if let Some(kept) = self.lines.get_mut(&of) {
                Arc::make_mut(kept).words = None;
            }
        }
        self.place(Arc::new(kept));
        true
    }

    /// Notes where the log sealed a line; the line may come later. If a line was told to be sealed
    /// twice the lower leaf counts, so that the order of telling does not matter.
    pub fn seal(&mut self, id: LineId, sealing: Sealing) {
        self.revision += 1;
        let known = self.seals.entry(id).or_insert(sealing);
        *known = (*known).min(sealing);
    }

    /// The state at an instant: what happened up to then, as far as this watch knows of it.
    pub fn about(&self, now_ms: i64) -> State {
        fold::fold(self, now_ms)
    }

    /// The watch as it was known when the log had `size` leaves.
    pub fn as_known(&self, size: u64) -> Watch {
        self.only(|_, sealing| sealing.is_some_and(|sealing| sealing.index < size))
    }

    /// The watch as a `sealed` line counted it: the lines of each chain that it names, and of its own
    /// chain up to itself. None if no such line is held.
    pub fn as_counted(&self, by: LineId) -> Option<Watch> {
        let counting = self.lines.get(&by)?;
        let Entry::SealedChains(body) = &counting.said else { return None };
        let mut counts: Map<DeviceId, u64> =
            body.chains.iter().map(|end| (end.dev, end.count)).collect();
        counts.insert(counting.dev, counting.seq + 1);
        Some(self.only(|kept, _| counts.get(&kept.dev).is_some_and(|count| kept.seq < *count)))
    }

    /// The watch of some of its lines. Words that were erased since are gone there too.
    fn only(&self, keeps: impl Fn(&Kept, Option<&Sealing>) -> bool) -> Watch {
        let mut then = Watch::new(self.id.clone());
        for (id, kept) in &self.lines {
            let sealing = self.seals.get(id);
            if !keeps(kept, sealing) {
                continue;
            }
            if let Some(sealing) = sealing {
                then.seal(*id, *sealing);
            }
            if let Entry::Erased(record::Erased { line: Some(of), .. }) = &kept.said {
                then.erased.insert(*of);
            }
            then.place(kept.clone());
        }
        then
    }

    /// The lines that count, in the order in which they happened.
    pub fn lines(&self) -> impl Iterator<Item = &Kept> {
        self.order.iter().map(|(.., id)| &*self.lines[id])
    }

    /// One line, if it is held.
    pub fn line(&self, id: LineId) -> Option<&Kept> {
        self.lines.get(&id).map(Arc::as_ref)
    }

    /// The words of a line, if they are held.
    pub fn words(&self, id: LineId) -> Option<&Words> {
        self.lines.get(&id)?.words.as_ref()
    }

    /// What counts of a line after its corrections.
    pub fn effective(&self, id: LineId) -> Option<Effective> {
        Some(self.corrections.effective(self.lines.get(&id)?, &self.lines))
    }

    /// Where a line was sealed.
    pub fn sealing(&self, id: LineId) -> Option<&Sealing> {
        self.seals.get(&id)
    }

    /// How many lines are held, those of forks included.
    pub fn len(&self) -> usize {
        self.lines.len()
    }

    /// Whether no line is held.
    pub fn is_empty(&self) -> bool {
        self.lines.is_empty()
    }

    /// How many looks count.
    pub fn looks(&self) -> usize {
        self.looks.count()
    }

    /// What is due next in a zone, without folding the whole night. It does not know of emergencies
    /// that stopped the rounds: [`State`] does, and says the later time.
    pub fn due(&self, zone: &ZoneId, now_ms: i64) -> Option<Due> {
        let last = self.last_look(zone, now_ms);
        self.demands.due(zone, last, now_ms)
    }

    /// The zone that is due first.
    pub fn next_due(&self, now_ms: i64) -> Option<Due> {
        self.demands
            .zones()
            .filter_map(|zone| self.due(zone, now_ms))
            .min_by(|a, b| (a.due_ms, &a.zone).cmp(&(b.due_ms, &b.zone)))
    }

    /// The newest look that had happened by `now_ms`. A look whose clock runs ahead counts from its
    /// receipt, since it cannot be younger than that.
    fn last_look(&self, zone: &ZoneId, now_ms: i64) -> Option<(i64, LineId)> {
        self.looks.newest_first(zone).find_map(|(at_ms, id)| {
            let known_ms = match self.seals.get(&id) {
                Some(sealing) => at_ms.min(sealing.rx_ms),
                None => at_ms,
            };
            (known_ms <= now_ms).then_some((known_ms, id))
        })
    }

    fn take_words(&mut self, id: LineId, words: Option<Words>) {
        if self.erased.contains(&id) {
            return;
        }
        let kept = Arc::make_mut(self.lines.get_mut(&id).expect("the caller looked"));
        kept.words = kept.words.take().or(words);
    }

    fn place(&mut self, kept: Arc<Kept>) {
        let id = kept.id;
        let chain = self.chains.or_default(kept.dev);
        let before = match chain.get_mut(&kept.seq) {
            None => {
                chain.insert(kept.seq, Place::of(id));
                Before::Nothing
            }
            Some(place) => {
                let before = place.alone().map_or(Before::Fork, Before::Line);
                place.add(id);
                before
            }
        };
        self.lines.insert(id, kept);
        match before {
            Before::Nothing => self.count_in(id),
            Before::Line(first) => self.count_out(first),
            Before::Fork => {}
        }
    }

    /// A line begins to count.
    fn count_in(&mut self, id: LineId) {
        let kept = &self.lines[&id];
        if let Entry::Corrected(body) = &kept.said {
            let targets = self.targets(body.of);
            targets.iter().for_each(|target| self.unindex(*target));
            let (kept, body) = (self.lines[&id].clone(), self.corrected(id));
            self.corrections.add(&kept, &body);
            targets.iter().for_each(|target| self.index(*target));
        }
        self.index(id);
    }

    /// A line stops to count: another one stands at its place in the chain.
    fn count_out(&mut self, id: LineId) {
        self.unindex(id);
        if let Entry::Corrected(body) = &self.lines[&id].said {
            let targets = self.targets(body.of);
            targets.iter().for_each(|target| self.unindex(*target));
            let (kept, body) = (self.lines[&id].clone(), self.corrected(id));
            self.corrections.remove(&kept, &body);
            targets.iter().for_each(|target| self.index(*target));
        }
    }

    fn corrected(&self, id: LineId) -> record::Corrected {
        match &self.lines[&id].said {
            Entry::Corrected(body) => body.clone(),
            _ => unreachable!("the caller looked at the kind"),
        }
    }

    /// The lines whose effect a correction of `of` can change: that line and what it corrects itself.
    fn targets(&self, of: LineId) -> Vec<LineId> {
        let mut targets = Vec::new();
        let mut next = Some(of);
        while let Some(id) = next {
            next = None;
            if let Some(kept) = self.lines.get(&id) {
                if self.is_alone(kept) {
                    targets.push(id);
                }
                if let Entry::Corrected(body) = &kept.said {
                    next = Some(body.of);
                }
            }
        }
        targets
    }

    fn is_alone(&self, kept: &Kept) -> bool {
        self.chains[&kept.dev][&kept.seq].alone().is_some()
    }

    fn index(&mut self, id: LineId) {
        let kept = &self.lines[&id];
        let effective = self.corrections.effective(kept, &self.lines);
        self.order.insert((effective.at_ms, kept.dev, kept.seq, id));
        self.looks.add(kept, &effective);
        self.demands.add(kept, &effective);
    }

    fn unindex(&mut self, id: LineId) {
        let kept = &self.lines[&id];
        let effective = self.corrections.effective(kept, &self.lines);
        self.order.remove(&(effective.at_ms, kept.dev, kept.seq, id));
        self.looks.remove(kept, &effective);
        self.demands.remove(kept, &effective);
    }
}

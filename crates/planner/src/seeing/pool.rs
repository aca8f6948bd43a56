//! Candidates (where a guard could stand) and witnesses (places that must be seen), who sees whom, and how far it is
//! between candidates. Both lists only grow.

use super::scene::{Place, Scene};
use geometry::sweep::Scratch;
use geometry::{Placed, Tree};
use std::collections::BTreeMap;

/// A candidate.
pub(super) struct Candidate {
    pub(super) place: Place,
    pub(super) range: f64,
    /// Witnesses it sees, one bit each.
    pub(super) sees: Vec<u64>,
    /// Corners it reaches straight, and how far they are.
    nodes: Vec<(u32, f64)>,
    /// Lengths to all corners.
    lengths: Vec<f64>,
}

/// Candidates and witnesses.
pub(super) struct Pool<'a> {
    pub(super) scene: &'a Scene<'a>,
    pub(super) candidates: Vec<Candidate>,
    pub(super) witnesses: Vec<Place>,
    /// Candidates that see each witness.
    pub(super) seers: Vec<Vec<u32>>,
    rows: Vec<Vec<f64>>,
    /// A length too short to matter.
    pub(super) crumb: f64,
    /// All walks count one: the search is then for the fewest candidates.
    pub(super) fewest: bool,
    known: BTreeMap<(usize, u64, u64), u32>,
    witness_placed: Vec<Placed>,
    scratch: Scratch,
    tree: Tree,
}

impl<'a> Pool<'a> {
    pub(super) fn new(scene: &'a Scene<'a>, fewest: bool) -> Self {
        Self {
            scene,
            candidates: Vec::new(),
            witnesses: Vec::new(),
            seers: Vec::new(),
            rows: Vec::new(),
            crumb: scene.extent() * 1e-5,
            fewest,
            known: BTreeMap::new(),
            witness_placed: Vec::new(),
            scratch: Scratch::default(),
            tree: Tree::default(),
        }
    }

    /// Walking length between two candidates.
    #[inline]
    pub(super) fn length(&self, a: u32, b: u32) -> f64 {
        if self.fewest { f64::from(u8::from(a != b)) } else { self.rows[a as usize][b as usize] }
    }

    /// Walking lengths from a candidate to all, by number.
    #[inline]
    pub(super) fn row(&self, a: u32) -> &[f64] {
        &self.rows[a as usize]
    }

    /// Walking length between two candidates, also when all walks count one.
    pub(super) fn apart(&self, a: u32, b: u32) -> f64 {
        self.rows[a as usize][b as usize]
    }

    /// Adds witnesses and asks every candidate about them.
    pub(super) fn add_witnesses(&mut self, places: &[Place]) {
        let first = self.witnesses.len();
        self.witnesses.extend_from_slice(places);
        self.seers.resize(self.witnesses.len(), Vec::new());
        let words = self.witnesses.len().div_ceil(64);
        self.candidates.iter_mut().for_each(|candidate| candidate.sees.resize(words, 0));
        let standing: Vec<Place> =
            self.candidates.iter().map(|candidate| candidate.place).collect();
        let placed = self.scene.placed(&standing);
        let reach = self.candidates.iter().map(|candidate| candidate.range).fold(0.0, f64::max);
        for w in first..self.witnesses.len() {
            let witness = self.witnesses[w];
            for c in self.scene.seen(witness, reach, &placed, &mut self.scratch) {
                let candidate = &mut self.candidates[c as usize];
                if candidate.place.at.distance(witness.at) <= Scene::counted(candidate.range) {
                    candidate.sees[w / 64] |= 1 << (w % 64);
                    self.seers[w].push(c);
                }
            }
        }
        self.witness_placed = self.scene.placed(&self.witnesses);
    }

    /// Forgets the candidates, not the witnesses.
    pub(super) fn renew(&mut self) {
        let witnesses = std::mem::take(&mut self.witnesses);
        *self = Pool::new(self.scene, self.fewest);
        self.add_witnesses(&witnesses);
    }

    /// Adds candidates.
    pub(super) fn add_all(&mut self, places: &[Place]) {
        self.add_all_of(places);
    }

    /// Adds candidates and says their numbers.
    pub(super) fn add_all_of(&mut self, places: &[Place]) -> Vec<u32> {
        places.iter().filter_map(|&place| self.add(place)).collect()
    }

    /// Witnesses that hardly anybody sees become candidates themselves.
    pub(super) fn give_seers(&mut self) {
        for w in 0..self.witnesses.len() {
            if self.seers[w].len() < 3 {
                self.add(self.witnesses[w]);
            }
        }
    }

    /// For each witness those that some candidate sees together with it, as bits.
    pub(super) fn together(&self) -> Vec<Vec<u64>> {
        let words = self.witnesses.len().div_ceil(64);
        let join = |seers: &Vec<u32>| {
            let mut bits = vec![0u64; words];
            for &c in seers {
                let sees = &self.candidates[c as usize].sees;
                bits.iter_mut().zip(sees).for_each(|(bits, sees)| *bits |= sees);
            }
            bits
        };
        self.seers.iter().map(join).collect()
    }

    /// The witnesses seen from a place, as bits.
    pub(super) fn seen_from(&mut self, place: Place) -> Vec<u64> {
        let mut bits = vec![0; self.witnesses.len().div_ceil(64)];
        let range = Scene::counted(self.scene.range(place));
        if range > 0.0 && !self.witness_placed.is_empty() {
            for w in self.scene.seen(place, range, &self.witness_placed, &mut self.scratch) {
                bits[w as usize / 64] |= 1 << (w % 64);
            }
        }
        bits
    }

    /// Adds a candidate, or finds the one that stands there already; none when it stands nowhere or cannot be walked to
    /// from the others.
    pub(super) fn add(&mut self, place: Place) -> Option<u32> {
        let key = (place.floor, place.at.x.to_bits(), place.at.y.to_bits());
        if let Some(&known) = self.known.get(&key) {
            return Some(known);
        }
        let range = self.scene.range(place);
        if range <= 0.0 {
            return None;
        }
        let sees = self.seen_from(place);
        let standing: Vec<Place> =
            self.candidates.iter().map(|candidate| candidate.place).collect();
        let placed = self.scene.placed_on(place.floor, &standing);
        let straight = self.scene.straight(place, &placed, &mut self.scratch);
        self.scene.search(&straight.nodes, &mut self.tree);
        let lengths: Vec<f64> =
            (0..self.scene.node_count() as u32).map(|n| self.tree.length(n)).collect();
        let mut row: Vec<f64> = (self.candidates.iter())
            .map(|other| {
                other
                    .nodes
                    .iter()
                    .map(|&(n, l)| lengths[n as usize] + l)
                    .fold(f64::INFINITY, f64::min)
            })
            .collect();
        for &(j, length) in &straight.points {
            row[j as usize] = row[j as usize].min(length);
        }
        row.push(0.0);
        if row.len() > 1 && row[0].is_infinite() {
            return None;
        }
        let index = self.candidates.len() as u32;
        for (word, bits) in sees.iter().enumerate() {
            let mut bits = *bits;
            while bits != 0 {
                self.seers[word * 64 + bits.trailing_zeros() as usize].push(index);
                bits &= bits - 1;
            }
        }
        self.known.insert(key, index);
        for (known, &length) in self.rows.iter_mut().zip(&row) {
            known.push(length);
        }
        self.rows.push(row);
        self.candidates.push(Candidate { place, range, sees, nodes: straight.nodes, lengths });
        Some(index)
    }

    /// Length of the detour from `a` by a place to `b`, without making it a candidate.
    pub(super) fn detour(&mut self, place: Place, a: u32, b: u32) -> f64 {
        let ends = [self.candidates[a as usize].place, self.candidates[b as usize].place];
        let placed = self.scene.placed_on(place.floor, &ends);
        let straight = self.scene.straight(place, &placed, &mut self.scratch);
        let mut lengths = [f64::INFINITY; 2];
        for (k, end) in [a, b].into_iter().enumerate() {
            let known = &self.candidates[end as usize].lengths;
            lengths[k] = straight
                .nodes
                .iter()
                .map(|&(n, l)| known[n as usize] + l)
                .fold(f64::INFINITY, f64::min);
        }
        for &(k, length) in &straight.points {
            lengths[k as usize] = lengths[k as usize].min(length);
        }
        lengths[0] + lengths[1]
    }
}

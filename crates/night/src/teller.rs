//! Tells a story: sentence by sentence, each writes the lines that the devices would have signed.

use crate::clock::NightClock;
use crate::fault::NightFault;
use crate::form;
use crate::forms;
use crate::head::Head;
use crate::log::{Device, Log};
use crate::record_of_night::{NightLine, Record};
use jiff::tz::TimeZone;
use ledger::{DeviceKey, Digest, LineId, LogKey, PersonId};
use record::documents::{Demand, Document, Instructions, SiteCard, Terms, VERSION};
use record::*;
use std::collections::{BTreeMap, BTreeSet};

const MINUTE_MS: i64 = 60_000;

/// The story so far.
pub(crate) struct Teller {
    pub(crate) head: Head,
    pub(crate) clock: NightClock,
    /// The server's device first, then one phone per guard.
    devices: Vec<Device>,
    log: Log,
    ticked_ms: i64,
    pub(crate) blobs: BTreeMap<Digest, Vec<u8>>,
    pub(crate) lines: Vec<NightLine>,
    org_lines: Vec<ledger::SignedLine>,
    told: BTreeMap<usize, Vec<LineId>>,
    number: usize,
    pub(crate) memory: forms::Memory,
}

pub(crate) fn tell(text: &str) -> Result<Record, NightFault> {
    let lines: Vec<(usize, &str)> = (1..)
        .zip(text.lines().map(str::trim))
        .filter(|(_, line)| !line.is_empty() && !line.starts_with('#'))
        .collect();
    let is_story = |line: &str| line.starts_with(|c: char| c.is_ascii_digit());
    let start = lines.iter().position(|(_, line)| is_story(line)).unwrap_or(lines.len());
    let (head, story) = lines.split_at(start);
    let mut head = Head::read(head)?;
    if head.guards.is_empty() {
        head.guards = guards(story);
    }
    let mut teller = Teller::new(head).map_err(|(line, says)| plain(line, "", says))?;
    for (number, line) in story {
        teller.sentence(*number, line)?;
    }
    Ok(teller.finish())
}

/// Who acts in the story, if the head names nobody.
fn guards(story: &[(usize, &str)]) -> Vec<String> {
    let mut guards: Vec<String> = Vec::new();
    for (_, line) in story {
        let name = line.split_whitespace().nth(1).unwrap_or_default();
        if name.starts_with(char::is_uppercase) && !guards.iter().any(|known| known == name) {
            guards.push(name.to_owned());
        }
    }
    guards
}

/// A time that is left out in silence would tell another night.
const AS_OF_LOST: &str = "this kind states no other time: leave `as of` out, or say in a sentence after it `<who> corrects the time of the last line as of <time>`";

fn plain(line: usize, text: &str, says: String) -> NightFault {
    NightFault { line, text: text.to_owned(), says, nearest: None }
}

impl Teller {
    fn new(head: Head) -> Result<Teller, (usize, String)> {
        let zone = TimeZone::get(&head.tz).map_err(|error| (0, error.to_string()))?;
        let clock = NightClock::new(zone, head.date);
        let from_ms = clock.clone().next(&head.from).map_err(|says| (0, says))?;
        let key = |n: usize| DeviceKey::from_seed(seed(head.seed, n));
        let begin_ms = from_ms - 15 * MINUTE_MS;
        let devices = (0..=head.guards.len())
            .map(|n| Device::new(key(n), n, &head.watch, begin_ms))
            .collect();
        let log = LogKey::from_seed("gannet.example/quay/2026", seed(head.seed, 255));
        let mut teller = Teller {
            clock,
            devices,
            log: Log::new(log.map_err(|error| (0, error.to_string()))?),
            ticked_ms: begin_ms,
            blobs: BTreeMap::new(),
            lines: Vec::new(),
            org_lines: Vec::new(),
            told: BTreeMap::new(),
            number: 0,
            memory: forms::Memory::default(),
            head,
        };
        teller.set_phones(from_ms)?;
        teller.enrol(begin_ms);
        teller.open(from_ms).map_err(|says| (0, says))?;
        Ok(teller)
    }

    fn sentence(&mut self, number: usize, line: &str) -> Result<(), NightFault> {
        self.number = number;
        if let Some(date) = line.strip_prefix("date:").and_then(|date| date.trim().parse().ok()) {
            self.clock.begin(date);
            return Ok(());
        }
        let (time, sentence) = line
            .split_once(' ')
            .ok_or_else(|| plain(number, line, "a sentence begins with its time".to_owned()))?;
        let at_ms = self.clock.next(time).map_err(|says| plain(number, line, says))?;
        let sentence = sentence.trim();
        let (sentence, as_of) = match sentence.rsplit_once(" as of ") {
            Some((before, time)) => (before, Some(time)),
            None => (sentence, None),
        };
        let as_of_ms = as_of.map(|time| self.clock.near(time, at_ms)).transpose();
        let as_of_ms = as_of_ms.map_err(|says| plain(number, line, says))?;
        self.advance(at_ms);
        for (form, tell) in forms::all() {
            if let Some(blanks) = form::fill(form, sentence) {
                let blanks = blanks.with_as_of(as_of_ms);
                tell(self, &blanks, at_ms).map_err(|says| plain(number, line, says))?;
                return match blanks.as_of_is_lost() {
                    true => Err(plain(number, line, AS_OF_LOST.to_owned())),
                    false => Ok(()),
                };
            }
        }
        Err(NightFault {
            line: number,
            text: line.to_owned(),
            says: "no sentence of a night".to_owned(),
            nearest: form::nearest(crate::sentences(), sentence),
        })
    }

    /// Lets time pass: the log ticks each minute, and whoever has signal is brought up to date.
    fn advance(&mut self, to_ms: i64) {
        while self.ticked_ms + MINUTE_MS <= to_ms {
            self.ticked_ms += MINUTE_MS;
            let (now_ms, server) = (self.ticked_ms, person("server"));
            self.devices[0].write(
                &server,
                now_ms,
                0,
                Tick { watches: 1 }.into(),
                Words::default(),
                true,
            );
            (0..self.devices.len()).for_each(|device| self.sync(device, now_ms));
        }
    }

    fn sync(&mut self, device: usize, now_ms: i64) {
        for taken in self.log.sync(&mut self.devices[device], now_ms) {
            let line = taken.waiting.line;
            if line.watch.as_str() == "org" {
                let (bytes, signature) = (line.bytes().to_vec(), line.signature());
                self.org_lines.push(ledger::SignedLine { bytes, signature });
                continue;
            }
            self.lines.push(NightLine {
                not_before_ms: line.head.as_ref().and_then(|head| self.log.received_ms(head)),
                private: taken.waiting.private,
                words: taken.waiting.words,
                index: taken.index,
                rx_ms: taken.rx_ms,
                rxe_ms: crate::log::RXE_MS,
                line,
            });
        }
    }

    /// Writes a line of somebody on their own device; `the desk` writes on the server's.
    pub(crate) fn write(
        &mut self,
        name: &str,
        at_ms: i64,
        entry: impl Into<Entry>,
        words: Words,
    ) -> Result<LineId, String> {
        self.write_on(name, name, at_ms, entry.into(), words)
    }

    /// Writes a line of somebody on the device of `owner`.
    pub(crate) fn write_on(
        &mut self,
        owner: &str,
        name: &str,
        at_ms: i64,
        entry: Entry,
        words: Words,
    ) -> Result<LineId, String> {
        let device = self.device(owner)?;
        let tz = self.clock.offset_min(at_ms);
        let who = self.person(name)?;
        let id = self.devices[device].write(&who, at_ms, tz, entry, words, false);
        self.told.entry(self.number).or_default().push(id);
        self.sync(device, at_ms);
        Ok(id)
    }

    pub(crate) fn phone(&mut self, name: &str) -> Result<&mut Device, String> {
        let device = self.device(name)?;
        Ok(&mut self.devices[device])
    }

    fn device(&self, name: &str) -> Result<usize, String> {
        if matches!(name, "the desk" | "the server") {
            return Ok(0);
        }
        let place = self.head.guards.iter().position(|guard| guard == name);
        place.map(|place| place + 1).ok_or_else(|| {
            format!("{name:?} is nobody here: {}, the desk", self.head.guards.join(", "))
        })
    }

    /// The person with that name.
    pub(crate) fn person(&self, name: &str) -> Result<PersonId, String> {
        self.device(name)?;
        Ok(person(name.strip_prefix("the ").unwrap_or(name)))
    }

    /// Keeps a blob and names it.
    pub(crate) fn blob(&mut self, bytes: Vec<u8>) -> Digest {
        let digest = Digest::of(&bytes);
        self.blobs.insert(digest, bytes);
        digest
    }

    fn set_phones(&mut self, from_ms: i64) -> Result<(), (usize, String)> {
        for (number, name, setting) in self.head.phones.clone() {
            let words: Vec<&str> = setting.split_whitespace().collect();
            let clock = self.clock.clone();
            let device = self.device(&name).map_err(|says| (number, says))?;
            let device = &mut self.devices[device];
            let outcome = match words.as_slice() {
                ["offline", from, "to", "never"] => clock.after(from, from_ms).map(|from| device.offline.push((from, i64::MAX))),
                ["offline", from, "to", until] => clock.after(from, from_ms).and_then(|from| {
                    device.offline.push((from, clock.after(until, from)?));
                    Ok(())
                }),
                ["clock", number, unit, "ahead"] => crate::clock::span_s(&format!("{number} {unit}")).map(|s| device.ahead_ms = i64::from(s) * 1000),
                ["clock", number, unit, "behind"] => crate::clock::span_s(&format!("{number} {unit}")).map(|s| device.ahead_ms = -i64::from(s) * 1000),
                _ => Err("a phone is `offline 22:10 to 03:00`, `clock 30 s ahead` or `clock 30 s behind`".to_owned()),
            };
            outcome.map_err(|says| (number, says))?;
        }
        Ok(())
    }

    /// Each device states its key, and the server lets it in.
    fn enrol(&mut self, at_ms: i64) {
        for number in 0..self.devices.len() {
            let key = self.devices[number].key.public();
            let (role, who) = match number.checked_sub(1) {
                None => (Role::Server, person("server")),
                Some(guard) => (Role::Guard, person(&self.head.guards[guard])),
            };
            let own = Enrolled {
                device: key.device(),
                key,
                keep: if number == 0 { KeyKept::Server } else { KeyKept::Webcrypto },
                role,
                person: (number > 0).then(|| who.clone()),
                token: None,
                by: None,
            };
            let let_in = Enrolled { by: Some(person("desk")), ..own.clone() };
            self.devices[number].write(&who, at_ms, 0, own.into(), Words::default(), true);
            self.sync(number, at_ms);
            self.devices[0].write(
                &person("server"),
                at_ms,
                0,
                let_in.into(),
                Words::default(),
                true,
            );
            self.sync(0, at_ms);
        }
        (0..self.devices.len()).for_each(|device| self.sync(device, at_ms));
    }

    fn open(&mut self, from_ms: i64) -> Result<(), String> {
        let at_ms = from_ms - 5 * MINUTE_MS;
        self.advance(at_ms);
        let card = SiteCard {
            contacts: self.head.contacts.clone(),
            ..SiteCard::plain(&self.head.site, &self.head.address, &self.head.town)
        };
        let until_ms = match self.head.until.clone() {
            Some(until) => Some(self.clock.after(&until, from_ms)?),
            None => None,
        };
        let opened = WatchOpened {
            site: SiteId::new(slug(&self.head.site)).map_err(|error| error.to_string())?,
            card: self.blob(card.to_bytes()),
            tz: self.head.tz.clone(),
            from_ms,
            until_ms,
            out: self.head.out.clone(),
            demo: self.head.demo,
            test: self.head.test,
        };
        let mut words = named("site", &self.head.site);
        words.names.extend(named("guard", &self.head.desk).names);
        self.write("the desk", at_ms, opened, words)?;
        self.set_plan(at_ms)?;
        self.set_terms(at_ms)?;
        let instructions = Instructions {
            v: VERSION,
            language: "en".to_owned(),
            lines: self.head.instructions.clone(),
        };
        let set = InstructionsSet {
            instructions: self.blob(instructions.to_bytes()),
            version: 1,
            language: "en".to_owned(),
        };
        self.memory.instructions = set.instructions;
        self.write("the desk", at_ms, set, Words::default())?;
        Ok(())
    }

    fn set_plan(&mut self, at_ms: i64) -> Result<(), String> {
        let plan = self.plan();
        let set = PlanSet {
            plan: self.blob(plan.to_string().into_bytes()),
            zones: self.head.gaps.keys().cloned().collect(),
            stops: self.head.stops.clone(),
        };
        self.write("the desk", at_ms, set, Words::default())?;
        let stops = if self.head.route.is_empty() {
            self.head.stops.keys().cloned().collect()
        } else {
            self.head.route.clone()
        };
        let route = RouteSet { route: None, stops, legs_s: self.head.legs_s.clone(), guard: None };
        self.write("the desk", at_ms, route, Words::default())?;
        Ok(())
    }

    /// A plan file with names and no geometry (`docs/spec/plan-file.md`).
    fn plan(&self) -> serde_json::Value {
        let name = |id: &str| self.head.names.get(id).cloned().unwrap_or_else(|| readable(id));
        let zones: Vec<_> = (self.head.gaps.iter())
            .map(|(zone, gap_s)| {
                let id = zone.as_str();
                serde_json::json!({"id": id, "name": name(id), "gap_s": gap_s})
            })
            .collect();
        let stops: Vec<_> = (self.head.stops.iter())
            .map(|(stop, zone)| {
                let id = stop.as_str();
                serde_json::json!({"id": id, "name": name(id), "zone": zone.as_str()})
            })
            .collect();
        let mut plan = serde_json::json!({"version": 1, "name": self.head.site, "zones": zones, "stops": stops});
        // The plan file has one order of keys, whatever order maps have in this build.
        plan.sort_all_objects();
        plan
    }

    pub(crate) fn set_terms(&mut self, at_ms: i64) -> Result<LineId, String> {
        let terms = self.terms();
        let set = TermsSet {
            terms: self.blob(terms.to_bytes()),
            gaps_s: self.head.gaps.clone(),
            first_round_s: self.head.first_round_s,
            people_at_least: self.head.people_at_least,
            other_duties: self.head.other_duties,
            retain_s: None,
        };
        self.write("the desk", at_ms, set, Words::default())
    }

    fn terms(&self) -> Terms {
        let (from, source) = &self.head.source;
        let gap = |(zone, gap_s): (&ZoneId, &u32)| Demand {
            of: zone.to_string(),
            gap_s: Some(*gap_s),
            source: source.clone(),
            from: *from,
            text: String::new(),
        };
        let other = |(of, from, source): &(String, DemandFrom, String)| Demand {
            of: of.clone(),
            gap_s: None,
            source: source.clone(),
            from: *from,
            text: String::new(),
        };
        let demands =
            self.head.gaps.iter().map(gap).chain(self.head.demands.iter().map(other)).collect();
        Terms { v: VERSION, demands, owed: self.head.owed.clone() }
    }

    /// Where every chain of the watch ends, as far as the log has it.
    pub(crate) fn count_chains(&self) -> SealedChains {
        let mut ends: BTreeMap<_, ChainEnd> = BTreeMap::new();
        for line in &self.lines {
            let end =
                ChainEnd { dev: line.line.dev, count: line.line.seq + 1, last: line.line.id() };
            let known = ends.entry(line.line.dev).or_insert_with(|| end.clone());
            if end.count > known.count {
                *known = end;
            }
        }
        SealedChains { chains: ends.into_values().collect() }
    }

    /// Waits until the phones that come back have come back, then seals the chains.
    fn finish(mut self) -> Record {
        let back = self.devices.iter().flat_map(|device| &device.offline).map(|(_, until)| *until);
        let end_ms =
            back.filter(|until| *until < i64::MAX).max().unwrap_or(i64::MIN).max(self.ticked_ms)
                + 2 * MINUTE_MS;
        self.advance(end_ms);
        let sealed = self.count_chains();
        self.write("the server", end_ms, sealed, Words::default())
            .expect("the server is always there");
        let terms = self.terms();
        // What a phone holds that never came back is on that phone only.
        let named: BTreeSet<Digest> =
            self.lines.iter().flat_map(|line| bundle::blobs_named(&line.line)).collect();
        let mut blobs = self.blobs;
        blobs.retain(|digest, _| named.contains(digest));
        Record {
            watch: self.head.watch.clone(),
            lines: self.lines,
            org_lines: self.org_lines,
            keys: self.devices.iter().map(|device| device.key.public()).collect(),
            log_key: self.log.key,
            leaves: self.log.leaves,
            tree: self.log.tree,
            blobs,
            terms,
            end_ms,
            tz_min: self.clock.offset_min(end_ms),
            told: self.told,
        }
    }
}

/// A name for an id that was given none: `stair-b` is Stair b.
fn readable(id: &str) -> String {
    let words = id.replace('-', " ");
    let (first, rest) = words.split_at(1.min(words.len()));
    first.to_uppercase() + rest
}

/// The private words that name a person.
pub(crate) fn named(what: &str, name: &str) -> Words {
    let names = BTreeMap::from([(what.to_owned(), name.to_owned())]);
    Words { names, ..Words::default() }
}

/// An opaque id that a reader of tests can still recognise.
fn person(name: &str) -> PersonId {
    PersonId::new(format!("p-{}", slug(name))).expect("a slug is an id")
}

fn slug(text: &str) -> String {
    let plain = |c: char| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' };
    text.chars().map(plain).take(48).collect()
}

/// Throw-away: from the night's number and the device's, no secret.
fn seed(night: u8, device: usize) -> [u8; 32] {
    Digest::of(format!("throw-away key of night {night}, device {device}").as_bytes()).0
}

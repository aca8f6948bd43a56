//! Judges a bundle whole. Reads every byte once, front to back along the log, and keeps in memory
//! only what does not grow with the number of lines: tips of chains, keys, heads, digests of blobs.
//!
//! Whatever is found wrong becomes a fault and the work goes on, so that one run tells everything.

mod chains;
mod erased;
mod facts;
mod files;
mod log;
mod logs;

use crate::archive::{self, ArchiveFault};
use crate::source::Source;
use crate::verdict::{FaultKind, Faults};
use crate::workers::{OneThread, Workers};
use crate::{SealedLine, Verdict, names};
use chains::Chains;
use facts::Facts;
use files::Files;
use ledger::{DeviceId, PublicKey, Vkey, WatchId, canonical};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::io;

/// How to verify.
pub struct How<'h, W: Workers> {
    /// Who does the work.
    pub workers: &'h W,
    /// Told now and then how many bytes of the logs are done, and how many there are.
    pub progress: &'h mut dyn FnMut(u64, u64),
    /// Keys of logs that came another way; if any are given, no other log is trusted.
    pub log_keys: &'h [Vkey],
    /// Given every line that holds, in the order of the logs.
    pub keep: Option<&'h mut dyn FnMut(SealedLine)>,
}

/// Judges a bundle on the calling thread.
pub fn verify(bytes: &[u8], mut progress: impl FnMut(u64, u64)) -> Verdict {
    let how = How { workers: &OneThread, progress: &mut progress, log_keys: &[], keep: None };
    verify_with(bytes, how).expect("a slice can always be read")
}

/// Judges a bundle. An error means that it could not be read at all.
pub fn verify_with<S, W>(source: &S, how: How<'_, W>) -> io::Result<Verdict>
where
    S: Source + Sync + ?Sized,
    W: Workers,
{
    let mut faults = Faults::default();
    let list = match archive::read(source) {
        Ok(list) => list,
        Err(ArchiveFault::Io(error)) => return Err(error),
        Err(ArchiveFault::Form { says }) => {
            faults.add(FaultKind::Archive, "", None, says);
            return Ok(nothing_read(faults));
        }
    };
    let files = Files::new(source, list);
    let mut case = Case {
        about: None,
        keys: BTreeMap::new(),
        chains: Chains::default(),
        facts: Facts::default(),
        faults,
        lines: 0,
        files,
    };
    case.files.check_presence(&mut case.faults);
    case.read_about()?;
    case.read_keys()?;
    case.open_chains()?;
    let logs = logs::judge(&mut case, how)?;
    case.chains.check_ends(&mut case.files, &mut case.faults)?;
    erased::check(&mut case)?;
    case.facts.check_ends(&case.chains, &case.files, &mut case.faults);
    case.check_use_of_keys();
    case.files.check_contents(&mut case.faults)?;
    Ok(case.into_verdict(logs))
}

/// Everything that is known while one bundle is judged.
struct Case<'s, S: Source + ?Sized> {
    about: Option<About>,
    keys: BTreeMap<DeviceId, (PublicKey, u64)>,
    chains: Chains<'s, S>,
    facts: Facts,
    faults: Faults,
    /// Lines that hold.
    lines: u64,
    files: Files<'s, S>,
}

/// `about.json`.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
struct About {
    server: DeviceId,
    v: u64,
    watch: WatchId,
}

/// One line of `keys.jsonl`.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Key {
    dev: DeviceId,
    key: PublicKey,
}

impl<S: Source + ?Sized> Case<'_, S> {
    fn read_about(&mut self) -> io::Result<()> {
        for (line, bytes) in self.files.lines(names::ABOUT, &mut self.faults)? {
            match canonical_row::<About>(&bytes) {
                Ok(about) if about.v == ledger::line::VERSION && self.about.is_none() => {
                    self.facts.server = about.server;
                    self.about = Some(about);
                }
                Ok(about) if self.about.is_none() => {
                    let says = format!("version {} of bundles: use a newer program", about.v);
                    self.faults.add(FaultKind::Version, names::ABOUT, line, says);
                }
                Ok(_) => {
                    let says = "one line is enough to say what the bundle is about";
                    self.faults.add(FaultKind::FileForm, names::ABOUT, line, says);
                }
                Err(says) => self.faults.add(FaultKind::FileForm, names::ABOUT, line, says),
            }
        }
        Ok(())
    }

    fn read_keys(&mut self) -> io::Result<()> {
        let file = names::KEYS;
        let mut before = None;
        for (line, bytes) in self.files.lines(file, &mut self.faults)? {
            match canonical_row::<Key>(&bytes) {
                Ok(row) if row.dev != row.key.device() => {
                    let says = format!("the key is not that of device {}", row.dev);
                    self.faults.add(FaultKind::Key, file, line, says);
                }
                Ok(row) => {
                    if before.is_some_and(|before| before >= row.dev) {
                        let says = "keys stand in order of device, each once";
                        self.faults.add(FaultKind::FileForm, file, line, says);
                    }
                    before = Some(row.dev);
                    self.keys.insert(row.dev, (row.key, line));
                }
                Err(says) => self.faults.add(FaultKind::FileForm, file, line, says),
            }
        }
        Ok(())
    }

    fn open_chains(&mut self) -> io::Result<()> {
        let devices: Vec<DeviceId> =
            self.files.names().filter_map(|name| Some(names::device(name, "chains")?.0)).collect();
        let watch = self.about.as_ref().map_or_else(WatchId::org, |about| about.watch.clone());
        for dev in devices {
            self.chains.open(dev, &watch, &mut self.files);
        }
        self.chains.open_org(&mut self.files);
        Ok(())
    }

    fn check_use_of_keys(&mut self) {
        for (dev, (_, line)) in &self.keys {
            if !self.facts.signers.contains(dev) {
                let says = format!("no line here is signed by device {dev}");
                self.faults.add(FaultKind::Key, names::KEYS, *line, says);
            }
        }
    }

    fn into_verdict(self, logs: logs::Judged) -> Verdict {
        let faults = self.faults.into_list();
        let mut cannot_know = self.facts.cannot_know(&logs);
        cannot_know.extend(ALWAYS_UNKNOWN.iter().map(|text| (*text).to_owned()));
        Verdict {
            ok: faults.is_empty(),
            watch: self.about.as_ref().map(|about| about.watch.clone()),
            server: self.about.as_ref().map(|about| about.server),
            log_keys: logs.keys,
            lines: self.lines,
            devices: self.chains.devices(),
            head: logs.head,
            faults,
            cannot_know,
        }
    }
}

const ALWAYS_UNKNOWN: &[&str] = &[
    "whether a phone that was never handed in holds more lines",
    "whether org.jsonl lacks a line that says whom to trust, a revocation for instance: only the organisation's whole log shows that",
    "what was done and not written down",
    "whether anyone walked: lines unaltered is all that is shown",
    "who held a device while it wrote",
];

fn nothing_read(faults: Faults) -> Verdict {
    Verdict {
        ok: false,
        watch: None,
        server: None,
        log_keys: Vec::new(),
        lines: 0,
        devices: 0,
        head: None,
        faults: faults.into_list(),
        cannot_know: vec!["anything: the archive could not be opened".to_owned()],
    }
}

/// Reads a canonical line as a row of some form.
fn canonical_row<'d, T: Deserialize<'d>>(bytes: &[u8]) -> Result<T, String> {
    let value = canonical::parse(bytes).map_err(|fault| fault.to_string())?;
    T::deserialize(value).map_err(|error| format!("not in the form of this file: {error}"))
}

//! What is to be said of a process by what it held from time to time.

use serde::Serialize;

/// What a process held at a moment.
#[derive(Debug, Clone, Copy, Serialize)]
pub(super) struct Look {
    /// Since the beginning, s.
    pub(super) at_s: f64,
    /// Lines with a receipt so far.
    pub(super) lines: u64,
    /// Memory of the process that is in use, KiB.
    pub(super) resident_kib: u64,
    /// Files and sockets that it has open.
    pub(super) descriptors: u64,
    /// The database without its write-ahead log.
    pub(super) database_bytes: u64,
    /// The write-ahead log.
    pub(super) wal_bytes: u64,
}

/// After so long a process has what it needs to run, s: a watch of ten minutes, ten more until it is put away, and the first
/// of them are long gone.
const WARM_S: f64 = 1_500.0;

/// Memory may grow by so much of what it was when warm (the goal of the project for a soak of 72 h).
const GROWTH_MAX: f64 = 0.05;

/// Descriptors may be more by so many than ever while it became warm: a phone or two more at a time.
const DESCRIPTORS_MORE: u64 = 8;

/// SQLite begins to empty its write-ahead log at 1,000 pages of 4 KiB (its documentation of `wal_autocheckpoint`);
/// sixteen times that is a log that is not emptied.
const WAL_MAX_BYTES: u64 = 64 << 20;

/// So much of the lines asked for must have come in, else it was another load.
const RATE_MIN: f64 = 0.9;

/// Memory is a mean of so many looks: the allocator breathes.
const LOOKS_A_MEAN: usize = 8;

/// What is to be said.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Verdict {
    /// Lines a second that got their receipts.
    pub(super) lines_per_s: f64,
    /// Memory when warm and at the end, KiB.
    pub(super) resident_kib: (f64, f64),
    /// Growth of it after it was warm, per cent.
    pub(super) growth_percent: f64,
    /// The same by the hour, KiB.
    pub(super) growth_kib_per_h: f64,
    /// The same for every line that came in meanwhile, bytes.
    pub(super) growth_bytes_per_line: f64,
    /// Most descriptors while it became warm, and after.
    pub(super) descriptors: (u64, u64),
    /// The largest write-ahead log, bytes.
    pub(super) wal_bytes: u64,
    /// Growth of the database for every line, bytes.
    pub(super) database_bytes_per_line: f64,
    /// What did not hold.
    pub(super) faults: Vec<String>,
}

impl Verdict {
    /// Judges the looks in the order in which they were taken.
    pub(super) fn of(looks: &[Look], asked_per_s: f64) -> Verdict {
        let warm = looks.iter().take_while(|look| look.at_s <= WARM_S).count();
        let (before, after) = looks.split_at(warm);
        let at = |looks: &[Look]| looks.last().copied();
        let (Some(from), Some(to)) = (at(before), at(after)) else { return Verdict::too_short() };
        let start = before[before.len().saturating_sub(LOOKS_A_MEAN)..].to_vec();
        let resident_kib =
            (mean_kib(&start), mean_kib(&after[after.len().saturating_sub(LOOKS_A_MEAN)..]));
        let (lines, passed_s) = ((to.lines - from.lines) as f64, to.at_s - from.at_s);
        let grown_kib = resident_kib.1 - resident_kib.0;
        let most = |looks: &[Look]| looks.iter().map(|look| look.descriptors).max().unwrap_or(0);
        let mut verdict = Verdict {
            lines_per_s: lines / passed_s,
            resident_kib,
            growth_percent: grown_kib / resident_kib.0 * 100.0,
            growth_kib_per_h: grown_kib / passed_s * 3600.0,
            growth_bytes_per_line: grown_kib * 1024.0 / lines.max(1.0),
            descriptors: (most(before), most(after)),
            wal_bytes: looks.iter().map(|look| look.wal_bytes).max().unwrap_or(0),
            database_bytes_per_line: (to.database_bytes as f64 - from.database_bytes as f64)
                / lines.max(1.0),
            faults: Vec::new(),
        };
        verdict.judge(asked_per_s);
        verdict
    }

    fn judge(&mut self, asked_per_s: f64) {
        let mut fault = |holds: bool, says: String| {
            if !holds {
                self.faults.push(says);
            }
        };
        let rate = self.lines_per_s;
        fault(
            rate >= asked_per_s * RATE_MIN,
            format!("{rate:.0} lines a second came in of {asked_per_s:.0}"),
        );
        let percent = self.growth_percent;
        fault(
            percent <= GROWTH_MAX * 100.0,
            format!("memory grew by {percent:.1} % after it was warm"),
        );
        let (warm, later) = self.descriptors;
        fault(later <= warm + DESCRIPTORS_MORE, format!("descriptors grew from {warm} to {later}"));
        let wal = self.wal_bytes;
        fault(wal <= WAL_MAX_BYTES, format!("the write-ahead log grew to {wal} bytes"));
    }

    fn too_short() -> Verdict {
        Verdict {
            lines_per_s: 0.0,
            resident_kib: (0.0, 0.0),
            growth_percent: 0.0,
            growth_kib_per_h: 0.0,
            growth_bytes_per_line: 0.0,
            descriptors: (0, 0),
            wal_bytes: 0,
            database_bytes_per_line: 0.0,
            faults: vec!["too short to judge: let it run for more than 25 minutes".to_owned()],
        }
    }
}

fn mean_kib(looks: &[Look]) -> f64 {
    looks.iter().map(|look| look.resident_kib as f64).sum::<f64>() / looks.len().max(1) as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An hour, a look a minute; `change` says what is otherwise at a minute.
    fn hour(change: impl Fn(u64, &mut Look)) -> Vec<Look> {
        let look = |minute: u64| {
            let mut look = Look {
                at_s: minute as f64 * 60.0,
                lines: minute * 6_000,
                resident_kib: 100_000,
                descriptors: 70 + minute % 3,
                database_bytes: minute * 6_000_000,
                wal_bytes: 4 << 20,
            };
            change(minute, &mut look);
            look
        };
        (1..=60).map(look).collect()
    }

    #[test]
    fn a_house_that_gives_everything_back_holds() {
        let verdict = Verdict::of(&hour(|_, _| {}), 100.0);
        assert_eq!(verdict.faults, [""; 0]);
        assert!((verdict.lines_per_s - 100.0).abs() < 1e-9);
        assert!((verdict.database_bytes_per_line - 1_000.0).abs() < 1e-9);
        // What it needs to become warm is not growth.
        let warming = hour(|minute, look| look.resident_kib -= 60_000 / minute.pow(3));
        assert_eq!(Verdict::of(&warming, 100.0).faults, [""; 0]);
    }

    #[test]
    fn each_way_of_keeping_too_much_is_told() {
        let says = |change: fn(u64, &mut Look)| Verdict::of(&hour(change), 100.0).faults.join("; ");
        // 200 KiB a minute, for 35 minutes after it is warm.
        assert!(
            says(|minute, look| look.resident_kib += 200 * minute).contains("memory grew by 6")
        );
        assert!(
            says(|minute, look| look.descriptors += minute / 4).contains("descriptors grew from")
        );
        assert!(says(|minute, look| look.wal_bytes = minute << 21).contains("write-ahead log"));
        assert!(says(|minute, look| look.lines = minute * 3_000).contains("50 lines a second"));
        let short: Vec<Look> = hour(|_, _| {}).into_iter().take(10).collect();
        assert!(Verdict::of(&short, 100.0).faults[0].contains("too short"));
    }
}

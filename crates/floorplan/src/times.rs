//! How long a round takes: walking by floor and stair, doors, keys, looking and writing. Plain numbers in and out.
//!
//! Speeds are those of the SFPE Handbook (Nelson and Mowrer): S = k − a k D metres a second at D persons/m², and 0.85 k
//! below 0.54 persons/m². They were measured on people leaving or crossing, not on patrols, so a timed round of the
//! site itself replaces them: see [`learn`].

use crate::fabric::{Leaf, LinkKind};
use crate::limits::{LimitFault, Limits};
use crate::network::Passage;

/// The time model of a site or a guard.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Times {
    /// Speed on level floor, in mm/s.
    pub level_mm_s: i64,
    /// Speed along the slope of a stair, in mm/s.
    pub stair_mm_s: i64,
    /// Slope length for each metre of rise, in thousandths.
    pub slope_permille: i64,
    /// Opening a door, in seconds.
    pub door_s: i64,
    /// Unlocking and locking, beside opening, in seconds.
    pub key_s: i64,
    /// A ride in a lift, in seconds.
    pub lift_s: i64,
    /// Looking and writing at a stop that does not say otherwise, in seconds.
    pub inspect_s: i64,
}

impl Times {
    /// The usual values of `standards/site/walking`.
    pub fn usual(limits: &Limits) -> Result<Self, LimitFault> {
        Ok(Self {
            level_mm_s: limits.usual("walking-level")?,
            stair_mm_s: limits.usual("walking-stair")?,
            slope_permille: limits.usual("stair-slope")?,
            door_s: limits.usual("door")?,
            key_s: limits.usual("key")?,
            lift_s: limits.usual("lift")?,
            inspect_s: limits.usual("inspect")?,
        })
    }

    /// Seconds to walk a length in millimetres on level floor.
    pub fn level_s(&self, length_mm: f64) -> f64 {
        length_mm / self.level_mm_s as f64
    }

    /// Seconds on a stair for a rise in millimetres, up or down.
    pub fn stair_s(&self, rise_mm: i64) -> f64 {
        rise_mm.unsigned_abs() as f64 * self.slope_permille as f64 / 1e3 / self.stair_mm_s as f64
    }

    /// What passing something is worth as millimetres of level floor, so that shortest means soonest; none when it may
    /// not be passed.
    pub fn worth_mm(&self, passage: Passage) -> Option<f64> {
        let seconds = match passage {
            Passage::Door(Leaf::Window) => return None,
            Passage::Door(Leaf::Gap) => 0.0,
            Passage::Door(Leaf::Door | Leaf::OneWay) => self.door_s as f64,
            Passage::Door(Leaf::Locked) => (self.door_s + self.key_s) as f64,
            Passage::Link { kind: LinkKind::Lift, rounds: false, .. } => return None,
            Passage::Link { kind: LinkKind::Lift, .. } => self.lift_s as f64,
            Passage::Link { kind: LinkKind::Stair, rise_mm, .. } => self.stair_s(rise_mm),
            // A ramp of 1 : 12, the steepest that accessibility rules allow, walked at level speed.
            Passage::Link { kind: LinkKind::Ramp, rise_mm, .. } => {
                self.level_s(rise_mm.unsigned_abs() as f64 * 12.0)
            }
        };
        Some(seconds * self.level_mm_s as f64)
    }
}

/// Walking speed in m/s where `k` is the handbook's factor and `density` in persons/m²; 0 where nobody moves.
pub fn speed_m_s(k: f64, density: f64) -> f64 {
    if density < 0.54 { 0.85 * k } else { (k - 0.266 * k * density).max(0.0) }
}

/// What recorded legs teach: recorded over computed time, in thousandths.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Learned {
    /// One in ten took at most this share.
    pub early_permille: i64,
    /// Half of the legs took at most this share.
    pub median_permille: i64,
    /// Nine in ten took at most this share.
    pub late_permille: i64,
    /// How many legs this rests on.
    pub legs: usize,
}

/// Fewer legs than this teach nothing.
pub const LEGS_MIN: usize = 8;

/// Learns from legs given as (computed, recorded) times in one unit. Quantiles, so that one long talk in a corridor
/// moves nothing; none for fewer than [`LEGS_MIN`] usable legs.
pub fn learn(legs: &[(i64, i64)]) -> Option<Learned> {
    let usable = legs.iter().filter(|(computed, recorded)| *computed > 0 && *recorded > 0);
    let share = |(computed, recorded): &(i64, i64)| {
        let permille = i128::from(*recorded) * 1000 / i128::from(*computed);
        i64::try_from(permille).unwrap_or(i64::MAX)
    };
    let mut shares: Vec<i64> = usable.map(share).collect();
    if shares.len() < LEGS_MIN {
        return None;
    }
    shares.sort_unstable();
    Some(Learned {
        early_permille: quantile(&shares, 100),
        median_permille: quantile(&shares, 500),
        late_permille: quantile(&shares, 900),
        legs: shares.len(),
    })
}

/// The least of the sorted values that at least so many thousandths of them do not exceed: definition 1 of Hyndman and
/// Fan, "Sample quantiles in statistical packages", The American Statistician 50 (1996). It is always one of the values.
fn quantile(sorted: &[i64], permille: usize) -> i64 {
    sorted[(sorted.len() * permille).div_ceil(1000).max(1) - 1]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn times() -> Times {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../standards/site/walking");
        let mut files: Vec<(String, String)> = Vec::new();
        for entry in std::fs::read_dir(folder).expect("the folder stands beside crates/") {
            let path = entry.expect("readable").path();
            files.push((path.display().to_string(), std::fs::read_to_string(&path).expect("text")));
        }
        let limits = Limits::read(files.iter().map(|(name, text)| (name.as_str(), text.as_str())))
            .expect("well formed");
        Times::usual(&limits).expect("complete")
    }

    fn near(measured: f64, expect: f64) {
        assert!((measured / expect - 1.0).abs() < 0.005, "{measured} is not {expect}");
    }

    /// Derived from the SFPE Handbook's law and table (Nelson and Mowrer; from memory): speeds at three densities.
    #[test]
    fn speeds_of_the_handbook() {
        near(speed_m_s(1.40, 0.0), 1.19);
        near(speed_m_s(1.40, 1.0), 1.0276);
        near(speed_m_s(1.40, 2.0), 0.6552);
        assert_eq!(speed_m_s(1.40, 3.8), 0.0);
        near(speed_m_s(1.08, 0.0), 0.918);
        near(speed_m_s(1.08, 1.0), 0.7927);
        near(speed_m_s(1.08, 2.0), 0.5054);
    }

    /// 120 m of level floor; one storey of 12 ft on a 7/11 stair (6.813 m of slope); a round of five floors of 150 m
    /// and four storeys, without and with twenty stops of 30 s. Derived from the same handbook values.
    #[test]
    fn worked_rounds() {
        let times = times();
        near(times.level_s(120_000.0), 100.84);
        near(3658.0 * times.slope_permille as f64 / 1e6, 6.813);
        near(times.stair_s(3658), 7.42);
        let round = 5.0 * times.level_s(150_000.0) + 4.0 * times.stair_s(3658);
        near(round, 659.9);
        near(round + 20.0 * times.inspect_s as f64, 1259.9);
    }

    #[test]
    fn legs_teach_by_quantile() {
        let legs: Vec<(i64, i64)> =
            (0..10).map(|k| (100, 100 + 10 * k)).chain([(100, 9000)]).collect();
        let learned = learn(&legs).expect("eleven legs");
        assert_eq!(
            (learned.early_permille, learned.median_permille, learned.late_permille, learned.legs),
            (1100, 1500, 1900, 11)
        );
        assert_eq!(learn(&legs[..7]), None);
        assert_eq!(learn(&[(0, 5); 20]), None, "a walk of no length teaches nothing");
    }

    /// numpy 2.4.6, `quantile(…, method="inverted_cdf")`, of the first values of Michelson's first run of 1879 (speed of
    /// light in km/s less 299,000; the data set from memory).
    #[test]
    fn quantiles_are_those_of_another_library() {
        let run = [
            850, 740, 900, 1070, 930, 850, 950, 980, 980, 880, 1000, 980, 930, 650, 760, 810, 1000,
            1000, 960, 960,
        ];
        for (n, expect) in [
            (8, [740, 900, 1070]),
            (9, [740, 930, 1070]),
            (10, [740, 900, 980]),
            (11, [850, 930, 1000]),
            (20, [740, 930, 1000]),
        ] {
            let legs: Vec<(i64, i64)> = run[..n].iter().map(|value| (1000, *value)).collect();
            let learned = learn(&legs).expect("eight or more");
            let ours = [learned.early_permille, learned.median_permille, learned.late_permille];
            assert_eq!((ours, learned.legs), (expect, n));
        }
    }
}

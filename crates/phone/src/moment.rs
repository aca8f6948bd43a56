//! What the edge hands in with every event, since this room has neither clock nor chance.

use ledger::Digest;

/// The clocks and sixteen random bytes at the moment of an event.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Moment {
    /// The phone's wall clock, ms UTC, uncorrected.
    pub wall_ms: i64,
    /// The phone's monotonic clock, ms since this start of the program.
    pub mono_ms: i64,
    /// The phone's local time minus UTC, minutes.
    pub tz_min: i64,
    /// The same where the watch on the screen is ([`Model::zone`](crate::Model::zone)), if the edge knows that place's clock.
    pub site_tz_min: Option<i64>,
    /// Fresh random bytes; each event brings others.
    pub random: [u8; 16],
}

impl Moment {
    /// The `n`th salt that this moment can give: sixteen bytes nobody can guess.
    pub fn salt(&self, n: u64) -> [u8; 16] {
        let digest = Digest::of(&[self.random.as_slice(), &n.to_be_bytes()].concat());
        digest.0[..16].try_into().expect("a digest is longer than sixteen bytes")
    }
}

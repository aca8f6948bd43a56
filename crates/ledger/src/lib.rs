//! Signed canonical lines, their chains, the log that seals them, and the proofs a stranger checks.
//!
//! Pure: no sockets, no SQL, no clock, no randomness, and no knowledge of what a line's kind means.
//! The format is `docs/spec/log.md`; where the two differ the page is right and the code is wrong.
//!
//! Read in this order: [`canonical`] (the one byte form), [`line`](mod@line) (what a device signs),
//! [`verified`] (the only way to trusted lines), `chain`, `merkle`, `leaf`, `head`, `receipt`, `time`.

pub mod canonical;
pub mod digest;
pub mod ids;
pub mod key;
pub mod line;
pub mod private;
pub mod verified;

pub use canonical::Fault as CanonicalFault;
pub use digest::{DeviceId, Digest, LineId};
pub use ids::{PersonId, WatchId};
pub use key::{DeviceKey, PublicKey, Signature};
pub use line::{Auth, Clk, HeadRef, Line, SignedLine};
pub use private::{Private, Salt};
pub use verified::{LineFault, Verified};

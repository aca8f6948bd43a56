//! Signed canonical lines, their chains, the log that seals them, and the proofs a stranger checks.
//!
//! Pure: no sockets, no SQL, no clock, no randomness, and no knowledge of what a line's kind means.
//! The format is `docs/spec/log.md`; where the two differ the page is right and the code is wrong.
//!
//! Read in this order: [`canonical`] (the one byte form), [`line`](mod@line) (what a device signs),
//! [`verified`] (the only way to trusted lines), [`chain`], [`leaf`], [`merkle`], [`head`], [`receipt`],
//! [`time`].

pub mod canonical;
pub mod chain;
pub mod digest;
pub mod head;
pub mod ids;
pub mod json;
pub mod key;
pub mod leaf;
pub mod line;
pub mod merkle;
pub mod note;
pub mod order;
pub mod private;
pub mod receipt;
pub mod time;
pub mod verified;

pub use canonical::Fault as CanonicalFault;
pub use digest::{DeviceId, Digest, LineId};
pub use head::{Head, LogKey, SignedHead, VerifiedHead, Vkey};
pub use ids::{PersonId, WatchId};
pub use key::{DeviceKey, PublicKey, Signature};
pub use leaf::Leaf;
pub use line::{Auth, Clk, HeadRef, Line, SignedLine};
pub use private::{Private, Salt};
pub use receipt::{Proof, Receipt};
pub use time::{Recorded, Sealed};
pub use verified::{LineFault, Verified};

//! The conversation between a phone and its server, as data and pure functions that both sides use.
//! The page `docs/spec/sync.md` begins with a whole example.
//!
//! Everything in it is idempotent: a request may be sent again at any time, a reply may come twice
//! or not at all, and nothing is lost or stored twice.

pub mod authentication;
pub mod enrolment;
pub mod message;
pub mod reading;

pub use authentication::{AuthenticationFault, RequestNote};
pub use enrolment::{EnrolReply, EnrolRequest, Member, confirmation_code};
pub use message::{
    CutLog, GivenLine, Is, KnownKey, LineFrom, Named, OtherLogs, Outcome, Reply, Request, SentLine,
    VERSION, WatchFrom,
};
pub use reading::{ReadReply, ReplyFault};

/// Header that carries the [`RequestNote`].
pub const DEVICE_HEADER: &str = "rattlewatch-device";

/// Header that carries the signature over the note, base64.
pub const SIGNATURE_HEADER: &str = "rattlewatch-signature";

//! Decides what the phone does next. Pure: the clock, randomness, storage, the network and the
//! signing key belong to `phone-web`, which feeds events in and carries effects out.
//!
//! Start with [`update`] (an [`Event`] happens to the [`Model`], [`Effect`]s come out) and [`view`]
//! (what stands on the screen, as plain data). Then one file per journey: `enrolling`, `shift`,
//! `round`, `observing`, `hot_work`, `stamping`, `writing` (from something said to a line on the disk),
//! `syncing`. What travels is in [`sync`].

mod card;
mod carrying;
pub mod clock;
mod correcting;
mod date;
mod documents;
pub mod draft;
mod drill;
pub mod effect;
mod enrolling;
pub mod event;
pub mod file;
mod heartbeat;
mod hot_work;
mod kept;
mod loading;
mod model;
mod moment;
mod names;
mod observing;
mod other_logs;
mod pace;
mod paper;
mod pictures;
mod pieces;
mod pin;
mod pruning;
mod reminding;
mod round;
mod sheets;
mod shift;
mod site;
mod stamping;
pub mod stored;
pub mod sync;
mod syncing;
pub mod tap;
mod update;
pub mod view;
mod writing;

pub use card::{CardRecord, Piece};
pub use carrying::CarryTap;
pub use correcting::{CorrectTap, LateWhy};
pub use effect::{Body, Effect, Method, Reminder, Ticket};
pub use event::{CardStage, CardStamp, Event, Purpose, SaveFault, What};
/// The types of the plan that a screen shows.
pub use floorplan;
pub use hot_work::HotWorkTap;
/// Reads what is kept as JSON.
pub use ledger::json::parse;
pub use ledger::{DeviceKey, Digest, PublicKey, Signature};
pub use model::Model;
pub use moment::Moment;
pub use paper::PaperTap;
pub use pieces::{Parcel, ParcelFault, cut};
pub use pin::PinTap;
pub use record::{Fix, KeyKept};
pub use round::Stroke;
pub use sheets::{SheetOf, SheetTap};
pub use tap::{Field, Page, Place, Tap};
pub use update::update;
pub use view::{View, view};
pub use words::Lang;

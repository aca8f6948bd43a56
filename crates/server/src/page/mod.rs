//! What every page of the desk has: frame, reader, forms, times.

pub(crate) mod codes;
mod dress;
pub(crate) mod form;
pub(crate) mod frame;
mod look;
mod reader;
pub(crate) mod time;
pub(crate) mod typed;
pub(crate) mod upload;

pub(crate) use dress::dress;
pub(crate) use frame::{Place, frame};
pub(crate) use look::{change_look, look_of};
pub(crate) use reader::Reader;

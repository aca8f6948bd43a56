//! The paper log sheet of a watch, for the night the phone fails: what stands where on it, and how a
//! picture of it is read back.
//!
//! Pure, native and wasm: the layout is a function of what is to be printed, the reading a function of
//! the picture. No typesetting, no decoding of picture files, no clock. Every length on paper is in
//! tenths of a millimetre, from the upper left corner of the page.
//!
//! Reading order: [`Tonight`] (what the sheet is filled with), [`pages`] (where it stands), [`SheetCode`]
//! (what the printed code says), then [`read()`] (from a [`GrayPicture`] to a [`Reading`]).

mod code;
mod columns;
#[cfg(not(target_arch = "wasm32"))]
mod decode;
mod filled;
mod item;
mod layout;
mod page_size;
mod picture;
mod qr;
mod read;
mod tonight;

pub use code::{CodeFault, Grid, SheetCode, TickBox, ZoneRef};
pub use columns::{Column, Columns, ColumnsFault};
#[cfg(not(target_arch = "wasm32"))]
pub use decode::PictureFault;
pub use filled::{Filled, FilledRow, Happened, Told};
pub use item::{Align, Face, Ink, Item};
pub use layout::{LAYOUT_VERSION, Page, pages};
pub use page_size::{MARK_DISC, MARK_HOLE, MARK_RING, PageSize};
pub use picture::GrayPicture;
pub use qr::{Modules, modules};
pub use read::{BoxRead, Expected, Fault, Kind, Reading, Window, missing_pages, read};
pub use tonight::{Naming, Tonight, ZoneColumn};

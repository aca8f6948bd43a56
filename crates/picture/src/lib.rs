//! Drawings as SVG text, the same for phone, desk and paper, the same bytes for the same input.
//!
//! Shapes carry the meaning, classes carry the ink: on screens `assets/tokens.css` colours them, on
//! paper [`paper_style`] does. No fonts, no pixels, no sentences: texts come in as arguments.
//!
//! Start with [`dial`](mod@dial), our signature picture; [`ring`](mod@ring) is the phone's burning lane.

pub mod dial;
mod paper;
pub mod plan;
mod polar;
mod rim_labels;
pub mod ring;
pub mod strip;
pub mod watch_dial;

pub use dial::{DialInput, DialZone, MiddleLine, Span, dial, small_dial};
pub use paper::{paper_plan, paper_style};
pub use plan::{Over, plan_svg};
pub use ring::ring;
pub use strip::{Phase, PhaseKind, strip};
pub use watch_dial::{DialSpan, WatchDial, watch_dial};

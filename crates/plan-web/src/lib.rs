//! Draws a site's plan in the browser: over a photographed or scanned floor plan, or on squared paper.
//!
//! The editing is pure and tested natively: an [`Event`] goes into [`update`], which changes the [`Model`]; nothing here
//! reads a clock or a file. [`thinking`] asks the planner what the plan drawn so far takes. Only `screen` knows the
//! browser, and only when built for it.
//!
//! Read in this order: [`drawing`] (what is drawn), [`model`] (what happens and what is on the desk), [`update`](mod@update)
//! (the one door), [`press`] (what a tool does), [`snap`], [`moving`], [`levels`], [`fields`], [`underlay`] (the picture
//! below), [`listing`] (the same in words), [`canvas`] (the same as SVG), [`thinking`].

pub mod canvas;
pub mod drawing;
pub mod fields;
pub mod hit;
pub mod levels;
pub mod listing;
pub mod model;
pub mod moving;
pub mod press;
mod putting;
#[cfg(target_arch = "wasm32")]
#[expect(
    unreachable_pub,
    reason = "the macros of components and of what the page calls ask for pub"
)]
mod screen;
mod signs;
pub mod snap;
pub mod thinking;
pub mod underlay;
pub mod update;
mod zoning;

pub use drawing::{Drawing, Part};
pub use fields::Edit;
pub use model::{Event, Model, Said, Tool};
pub use thinking::{Thought, think};
pub use underlay::Underlay;
pub use update::update;

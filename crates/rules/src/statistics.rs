//! Statistics on times that people wrote by hand. They choose rounds for a second look and never state more than that.
//!
//! A caller says how many tests it ran and corrects for them ([`holm`]). Times stamped by a device say nothing about the
//! person; scheduled beginnings on the hour are honest: test ends, and lengths.
//!
//! Read in this order: [`distributions`] (the probabilities), [`digits`], [`regularity`], [`runs`], [`holm`].

pub mod digits;
pub mod distributions;
pub mod holm;
pub mod regularity;
pub mod runs;

pub use digits::{DigitTest, ShareTest, last_digits, zero_or_five};
pub use holm::holm;
pub use regularity::{coefficient_of_variation, same_minute_chance};
pub use runs::{RunsTest, runs_about_median};

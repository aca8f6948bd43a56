//! Nights: plain lines of text that tell what happened, turned into the signed record of it.
//!
//! `20:04 Ines sees stair-b` becomes the line that Ines's phone would have signed, with her phone's
//! clocks, its place in her chain and its leaf in the log. Rule tests, fold tests, simulation and the
//! demo share these stories. The language is `docs/spec/night.md`; its sentences are the tables in
//! `forms`. Keys come from a seed and are thrown away: nothing here is fit to be shipped.
//!
//! Start with [`tell`].

mod bundled;
mod clock;
mod fault;
mod folded;
mod form;
mod forms;
mod head;
mod log;
mod record_of_night;
mod teller;

pub use fault::NightFault;
pub use record_of_night::{NightLine, Record};

/// Tells a night: reads the text and writes every line of it.
pub fn tell(text: &str) -> Result<Record, NightFault> {
    teller::tell(text)
}

/// Every sentence that a night can hold, for help and for the page of the language.
pub fn sentences() -> impl Iterator<Item = &'static str> {
    forms::all().map(|(form, _)| form)
}

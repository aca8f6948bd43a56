//! How most of these nights begin: a house of its own, a watch, and a guard's phone that the desk let in.

use crate::chrome::{PASSWORD, Phone};
use crate::house::House;
use crate::sink::Sink;
use anyhow::Result;
use ledger::WatchId;
use simulation::{Desk, Opening};

/// When the watches of the tests were opened, as forms write it: long ago, so that nothing has yet to begin.
const FROM: &str = "2026-01-01T20:00";

/// A night that has begun.
pub(crate) struct Begun {
    /// Where its mail goes, for as long as this is held.
    pub(crate) sink: Sink,
    pub(crate) house: House,
    pub(crate) desk: Desk,
    pub(crate) watch: WatchId,
    /// The guard's, let in and on no shift yet.
    pub(crate) phone: Phone,
}

impl Begun {
    pub(crate) async fn enrolled(opening: &Opening) -> Result<Begun> {
        let sink = Sink::start().await?;
        let house = House::start(&sink.url)?;
        let desk = Desk::begin(&house.url, &house.begin_link, PASSWORD).await?;
        let (watch, path) = desk.open(opening, FROM).await?;
        let phone = Phone::start().await?;
        phone.enrol(&house.url, &desk, &path).await?;
        Ok(Begun { sink, house, desk, watch, phone })
    }
}

/// The phone of somebody who is planned for this watch too.
pub(crate) async fn relief(
    house: &House,
    desk: &Desk,
    watch: &WatchId,
    name: &str,
) -> Result<Phone> {
    let (person, path) = desk.person_in(name).await?;
    desk.plan(watch, &person, FROM, "2030-01-01T08:00").await?;
    let phone = Phone::start().await?;
    phone.enrol(&house.url, desk, &path).await?;
    Ok(phone)
}

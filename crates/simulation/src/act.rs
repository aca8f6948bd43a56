//! What a guard can be told to do besides walking, each done by the controls that stand on the screen.

use crate::{Handset, Radio};
use anyhow::Result;
use phone::{CardStage, CardStamp, Field, Page, Place, Tap, What};
use record::{HazardClass, Means, Party, PermitCheck, WhatDone};

/// One thing that happens on a night.
#[derive(Debug, Clone, Copy)]
pub enum Act {
    /// The phone is out of reach.
    SignalLost,
    /// It is in reach again.
    SignalBack,
    /// The guard comes so many minutes later to the next stop.
    HeldUp(u32),
    /// Something is seen.
    Observes {
        /// Of which class.
        class: HazardClass,
        /// At which stop of the list, if the list has it.
        at: &'static str,
        /// In the guard's own words.
        words: &'static str,
        /// What was done about it.
        done: WhatDone,
        /// Whether that put it right.
        right: bool,
        /// Who was told, face to face.
        told: Option<Party>,
    },
    /// A permit for hot work is read at the place: an hour's watch after the last spark, then looks.
    PermitsWork {
        /// The zone.
        at: &'static str,
        /// The permit's number.
        number: &'static str,
    },
    /// The work under the permit that was read last begins.
    WorkBegins,
    /// The last spark of the so manieth work.
    LastSpark(usize),
    /// A look at the place of the so manieth work, with nothing found.
    LooksBack(usize),
    /// The card is opened and the stages are stamped, one a minute.
    Emergency(&'static [CardStage]),
    /// The fire service says that it is over.
    StoodDown,
    /// The relief is offered.
    Offers,
    /// The relief is taken.
    TakesOver,
    /// The shift is ended after a relief.
    Ends,
    /// The phone dies and is not switched on again.
    Dies,
    /// The program is closed and started again.
    Restarts,
}

impl Act {
    /// Does it. What the screen does not offer is an error that names what it offers.
    pub(crate) async fn done(self, phone: &mut Handset) -> Result<()> {
        match self {
            Act::SignalLost | Act::Dies => phone.radio = Radio::Off,
            Act::SignalBack => phone.radio = Radio::On,
            Act::HeldUp(_) => {}
            Act::Restarts => phone.start().await?,
            Act::Observes { class, at, words, done, right, told } => {
                observes(phone, class, at, words).await?;
                phone.touch(&format!("done-{}", code(&done))).await?;
                phone.touch("done-keep").await?;
                if let Some(party) = told {
                    tells(phone, party).await?;
                }
                if right {
                    phone.touch("put-right").await?;
                }
            }
            Act::PermitsWork { at, number } => permits(phone, at, number).await?,
            Act::WorkBegins => {
                hot_work(phone).await?;
                phone.touch("work-begins").await?;
            }
            Act::LastSpark(work) => {
                hot_work(phone).await?;
                phone.touch(&format!("hot-{work}")).await?;
                phone.touch("last-spark").await?;
            }
            Act::LooksBack(work) => {
                hot_work(phone).await?;
                phone.touch(&format!("hot-{work}")).await?;
                phone.touch("look-clear").await?;
            }
            Act::Emergency(stages) => emergency(phone, stages).await?,
            Act::StoodDown => {
                phone.tap(Tap::Go(Place::Round)).await?;
                phone.touch("emergency-over").await?;
            }
            Act::Offers => {
                phone.tap(Tap::Open(Page::Relief)).await?;
                phone.touch("offer").await?;
            }
            Act::TakesOver => phone.touch("take-over").await?,
            Act::Ends => {
                phone.tap(Tap::Open(Page::End)).await?;
                phone.tap(Tap::Typed(Field::Sign, "signed by hand".to_owned())).await?;
                phone.touch("end-not-clear").await?;
            }
        }
        if self.leaves_the_round() {
            phone.tap(Tap::Go(Place::Round)).await?;
        }
        Ok(())
    }

    fn leaves_the_round(self) -> bool {
        matches!(
            self,
            Act::Observes { .. }
                | Act::PermitsWork { .. }
                | Act::WorkBegins
                | Act::LastSpark(_)
                | Act::LooksBack(_)
                | Act::Emergency(_)
                | Act::Offers
        )
    }
}

async fn observes(phone: &mut Handset, class: HazardClass, at: &str, words: &str) -> Result<()> {
    phone.tap(Tap::Go(Place::Write)).await?;
    phone.touch("observe").await?;
    phone.touch(&format!("class-{}", code(&class))).await?;
    phone.touch(&format!("at-{at}")).await?;
    phone.tap(Tap::Typed(Field::Words, words.to_owned())).await?;
    phone.touch("words-keep").await
}

async fn hot_work(phone: &mut Handset) -> Result<()> {
    phone.tap(Tap::Go(Place::Write)).await?;
    phone.touch("hot-work").await
}

async fn permits(phone: &mut Handset, at: &str, number: &str) -> Result<()> {
    hot_work(phone).await?;
    phone.touch("permit-new").await?;
    phone.touch(&format!("work-at-{at}")).await?;
    phone.tap(Tap::Typed(Field::Permit, number.to_owned())).await?;
    for chosen in ["watch-60", "looks-180", "every-30"] {
        phone.touch(chosen).await?;
    }
    for check in [
        PermitCheck::Clear35Ft,
        PermitCheck::ExtinguisherReady,
        PermitCheck::FlammablesGone,
        PermitCheck::OtherSideChecked,
        PermitCheck::WatchNamed,
    ] {
        phone.touch(&format!("check-{}", code(&check))).await?;
    }
    phone.touch("permit-keep").await
}

async fn tells(phone: &mut Handset, party: Party) -> Result<()> {
    phone.touch("told-add").await?;
    phone.touch(&format!("party-{}", code(&party))).await?;
    phone.touch(&format!("means-{}", code(&Means::InPerson))).await?;
    phone.touch("tell-reached").await
}

async fn emergency(phone: &mut Handset, stages: &[CardStage]) -> Result<()> {
    phone.tap(Tap::Card).await?;
    let mut stamps = Vec::new();
    for (n, stage) in stages.iter().enumerate() {
        phone.stamps += 1;
        let at = phone.now_ms() + phone.clock_off_ms + n as i64;
        stamps.push(CardStamp { n: phone.stamps, stage: *stage, at });
    }
    phone.happen(What::Stamps(stamps)).await
}

/// A code as ids of controls carry it.
fn code<T: serde::Serialize>(value: &T) -> String {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(code)) => code.replace('_', "-"),
        _ => String::new(),
    }
}

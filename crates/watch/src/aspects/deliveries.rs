//! What went out, who read it, who came by, what was erased, and the server's count of the chains.

use crate::fold::Item;
use crate::time::Written;
use ledger::{Digest, LineId, PersonId};
use record::{Channel, Countersigned, Delivered, Erased, Party, Reported, ReviewOf};
use serde::Serialize;

/// A report that went out, or failed to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Delivery {
    /// The line.
    pub written: Written,
    /// The report's bytes.
    pub what: Digest,
    /// Its number.
    pub number: u32,
    /// By which way.
    pub channel: Channel,
    /// Whether it was taken.
    pub ok: bool,
    /// What it covers and what it rests on, if the line says so.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub report: Option<Reported>,
}

/// Somebody read the record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Review {
    /// The line.
    pub written: Written,
    /// What was read.
    pub of: ReviewOf,
    /// Up to when, ms UTC.
    pub to_ms: i64,
    /// The client signed (true), or somebody of the house read it.
    pub countersigned: bool,
    /// The drawn signature.
    pub signature: Option<Digest>,
}

/// Somebody came by.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Visit {
    /// The line.
    pub written: Written,
    /// Who.
    pub by: Party,
    /// Announced beforehand.
    pub announced: bool,
    /// The guard was found on duty.
    pub guard_found: bool,
}

/// A private line or a blob was erased.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Erasure {
    /// The line that says so.
    pub written: Written,
    /// Whose private line.
    pub line: Option<LineId>,
    /// Which blob.
    pub blob: Option<Digest>,
    /// Who decided.
    pub by: PersonId,
}

/// The server's newest statement of how many lines each chain has.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SealedChains {
    /// The line.
    pub written: Written,
    /// Every chain.
    pub chains: Vec<record::ChainEnd>,
}

#[derive(Default)]
pub(crate) struct Fold {
    pub(crate) out: Vec<Delivery>,
    pub(crate) reviews: Vec<Review>,
    pub(crate) visits: Vec<Visit>,
    pub(crate) erasures: Vec<Erasure>,
    pub(crate) sealed: Option<SealedChains>,
}

impl Fold {
    pub(crate) fn delivered(&mut self, item: &Item<'_>, body: &Delivered) {
        self.out.push(Delivery {
            written: item.written.clone(),
            what: body.what,
            number: body.number,
            channel: body.channel,
            ok: body.ok,
            report: body.report.clone(),
        });
    }

    pub(crate) fn reviewed(&mut self, item: &Item<'_>, body: &record::Reviewed) {
        self.reviews.push(Review {
            written: item.written.clone(),
            of: body.of,
            to_ms: body.to_ms,
            countersigned: false,
            signature: None,
        });
    }

    pub(crate) fn countersigned(&mut self, item: &Item<'_>, body: &Countersigned) {
        self.reviews.push(Review {
            written: item.written.clone(),
            of: body.of,
            to_ms: body.to_ms,
            countersigned: true,
            signature: body.signature,
        });
    }

    pub(crate) fn visit(&mut self, item: &Item<'_>, body: &record::Visit) {
        self.visits.push(Visit {
            written: item.written.clone(),
            by: body.by,
            announced: body.announced,
            guard_found: body.guard_found,
        });
    }

    pub(crate) fn erased(&mut self, item: &Item<'_>, body: &Erased) {
        self.erasures.push(Erasure {
            written: item.written.clone(),
            line: body.line,
            blob: body.blob,
            by: body.by.clone(),
        });
    }

    pub(crate) fn sealed(&mut self, item: &Item<'_>, body: &record::SealedChains) {
        self.sealed =
            Some(SealedChains { written: item.written.clone(), chains: body.chains.clone() });
    }
}

//! Documents that a line names by digest: site card, terms, instructions, route.

use crate::{Target, seeds};
use record::documents::{Document, Instructions, Route, SiteCard, Terms};
use std::fmt::Debug;

pub(crate) const TARGET: Target = Target {
    name: "documents",
    says: "what reads as a document is the same document after it was written again",
    reads,
    seeds: || {
        let texts = seeds::kept_phone()["documents"].as_array().cloned().unwrap_or_default();
        let mut seeds: Vec<Vec<u8>> =
            texts.iter().filter_map(|text| Some(text.as_str()?.as_bytes().to_vec())).collect();
        for night in seeds::folder("fixtures/nights") {
            let told = night::tell(&String::from_utf8_lossy(&night)).expect("a night that is told");
            seeds.extend(told.blobs.into_values());
        }
        seeds
    },
    longest: 16 * 1024,
};

fn reads(bytes: &[u8]) {
    again::<SiteCard>(bytes);
    again::<Terms>(bytes);
    again::<Instructions>(bytes);
    again::<Route>(bytes);
}

fn again<T: Document + PartialEq + Debug>(bytes: &[u8]) {
    let Ok(document) = T::parse(bytes) else { return };
    let written = document.to_bytes();
    assert_eq!(T::parse(&written).as_ref(), Ok(&document), "a document comes back");
    assert_eq!(document.to_bytes(), written, "and has one form");
}

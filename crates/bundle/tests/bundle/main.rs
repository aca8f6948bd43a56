//! Bundles as strangers get them: whole, changed, cut, forged, followed by hand.

mod by_hand;
mod forged;
mod page;
mod stamped;
mod vectors;
mod whole;
mod world;

//! Decides what the phone does next. Pure: the clock, randomness, storage, the network and the
//! signing key belong to `phone-web`, which feeds events in and carries effects out.

pub mod sync;

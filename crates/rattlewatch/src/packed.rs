//! The phone's files, if they were laid into the program when it was built.

include!(concat!(env!("OUT_DIR"), "/web.rs"));

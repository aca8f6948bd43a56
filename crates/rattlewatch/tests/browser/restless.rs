//! Somebody who kills the server again and again while others work with it.

use crate::house::House;
use std::sync::mpsc::{self, RecvTimeoutError, Sender};
use std::thread::JoinHandle;
use std::time::Duration;

/// The house, in the hands of somebody restless.
pub(crate) struct Restless {
    stop: Sender<()>,
    thread: JoinHandle<anyhow::Result<(House, u32)>>,
}

impl Restless {
    /// Kills and starts the server at moments drawn from the seed, 0.4 to 3.6 s apart, until stopped.
    pub(crate) fn begin(mut house: House, seed: u64) -> Restless {
        println!("the server is killed at random moments, seed {seed}");
        let (stop, stopped) = mpsc::channel();
        let thread = std::thread::spawn(move || {
            let (mut state, mut kills) = (seed, 0);
            loop {
                // One step of a linear congruential generator (Knuth, MMIX): from memory.
                state = state
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(1_442_695_040_888_963_407);
                let wait = Duration::from_millis(400 + (state >> 33) % 3_200);
                match stopped.recv_timeout(wait) {
                    Err(RecvTimeoutError::Timeout) => {}
                    Ok(()) | Err(RecvTimeoutError::Disconnected) => return Ok((house, kills)),
                }
                house.kill();
                house.start_again()?;
                kills += 1;
            }
        });
        Restless { stop, thread }
    }

    /// Gives the house back, running, with the number of times that it was killed.
    pub(crate) fn end(self) -> anyhow::Result<(House, u32)> {
        // Whoever has ended with an error no longer listens; the error comes with the thread.
        let _ = self.stop.send(());
        self.thread.join().expect("whoever kills the server does not panic")
    }
}

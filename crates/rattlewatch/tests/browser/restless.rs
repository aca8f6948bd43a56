//! Somebody who kills the server again and again while others work with it.

use crate::chance::Chance;
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
            let (mut chance, mut kills) = (Chance::new(seed), 0);
            loop {
                let (least, most) = (Duration::from_millis(400), Duration::from_millis(3_600));
                let wait = chance.between(least, most);
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

//! A disk on which one call fails, once or for good, at every place of a script.

use crate::devices::ORIGIN;
use crate::script::{Promised, Script, options};
use crate::shim::{Failure, recorder};
use store::{Store, StoreError};

const STEPS: usize = 24;

const FAILURES: [Failure; 4] = [
    Failure::Full { for_good: false },
    Failure::Full { for_good: true },
    Failure::Device { for_good: false },
    Failure::Device { for_good: true },
];

pub(crate) async fn run(every: u64) {
    let (mut runs, mut errors, mut stopped) = (0, 0, 0);
    for failure in FAILURES {
        let mut at = 1;
        loop {
            let seen = one(at, failure).await;
            if !seen.failed {
                break;
            }
            runs += 1;
            errors += seen.errors;
            stopped += u64::from(seen.stopped);
            at += every;
        }
    }
    println!(
        "failing disk: {runs} runs, {errors} errors told, {stopped} stops after a failed sync: nothing lost"
    );
    assert!(runs > 20 && errors > runs / 2 && stopped > 0, "hardly anything failed");
}

struct Seen {
    failed: bool,
    errors: u64,
    stopped: bool,
}

/// Runs the script with the call `at` failing, then opens the store on a sound disk and compares.
async fn one(at: u64, failure: Failure) -> Seen {
    let what = format!("{failure:?} at call {at}");
    let folder = tempfile::tempdir().unwrap();
    // The store is made on a sound disk; what fails is its working life.
    let store = Store::open(&options(folder.path(), true)).await.unwrap();
    store.create_log(ORIGIN).await.unwrap();
    {
        let mut recorder = recorder();
        (recorder.count, recorder.fail_at, recorder.failed) = (0, Some((at, failure)), None);
    }
    let (mut script, mut promised) = (Script::new(), Promised::default());
    let (mut errors, mut stopped) = (0, false);
    for _ in 0..STEPS {
        match script.step(&store, &mut promised).await {
            Ok(()) => {
                assert!(!stopped, "{what}: something was acknowledged after a failed sync");
            }
            Err(error) => {
                errors += 1;
                let expected = match failure {
                    Failure::Full { .. } => matches!(error, StoreError::LowDisk { .. }),
                    Failure::Device { .. } => {
                        matches!(error, StoreError::Fatal { .. } | StoreError::Database { .. })
                    }
                };
                assert!(expected, "{what}: {error:?}");
                stopped |= matches!(error, StoreError::Fatal { .. });
            }
        }
    }
    let failed = {
        let mut recorder = recorder();
        recorder.fail_at = None;
        recorder.failed.take()
    };
    if failed == Some(true) && failure == (Failure::Device { for_good: true }) {
        assert!(stopped, "{what}: a sync failed and the store went on");
    }
    store.close().await;
    let store = Store::open(&options(folder.path(), false)).await;
    let store = store.unwrap_or_else(|error| panic!("{what}: {error}"));
    promised.check(&store, &what).await;
    store.close().await;
    Seen { failed: failed.is_some(), errors, stopped }
}

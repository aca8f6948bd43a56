//! The same targets inside libFuzzer. It calls from outside and hands nothing over, so the target's name and the
//! folder for good inputs come by the environment, which `xtask` sets.

use fuzz::Target;
use libfuzzer_sys::fuzz_target;
use std::sync::OnceLock;

static TARGET: OnceLock<&Target> = OnceLock::new();

fuzz_target!(init: begin(), |bytes: &[u8]| {
    let target = TARGET.get().expect("the fuzzer begins with `begin`");
    (target.reads)(bytes);
});

/// Chooses the target and lays its good inputs into the folder, where the fuzzer finds them. Without a name: lists
/// the targets with their longest inputs.
fn begin() {
    let Ok(name) = std::env::var("RATTLEWATCH_FUZZ") else {
        for target in fuzz::TARGETS {
            println!("{} {}", target.name, target.longest);
        }
        std::process::exit(0);
    };
    let target = fuzz::target(&name).expect("RATTLEWATCH_FUZZ names a target");
    if let Ok(folder) = std::env::var("RATTLEWATCH_SEEDS") {
        let folder = std::path::Path::new(&folder);
        for seed in (target.seeds)().iter().filter(|seed| seed.len() <= target.longest) {
            let name = ledger::Digest::of(seed).to_string();
            std::fs::write(folder.join(name), seed).expect("the folder takes the good inputs");
        }
    }
    let _ = TARGET.set(target);
}

//! Builds the crate for wasm with the settings of the phone that is shipped. Tests and the bench `wasm` build it alike.

use std::process::Command;
use std::sync::OnceLock;

/// The module's bytes, built once a run.
pub(crate) fn wasm() -> &'static [u8] {
    static BYTES: OnceLock<Vec<u8>> = OnceLock::new();
    BYTES.get_or_init(|| {
        let output = Command::new(env!("CARGO"))
            .args(["rustc", "--package", "rattlewatch-sameness", "--lib", "--crate-type", "cdylib"])
            .args(["--target", "wasm32-unknown-unknown", "--profile", "phone"])
            .args(["--message-format", "json-render-diagnostics"])
            .current_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/../.."))
            .output()
            .expect("cargo starts");
        let says = String::from_utf8_lossy(&output.stderr);
        assert!(
            output.status.success(),
            "the wasm could not be built (target missing? `cargo x test wasm` adds it):\n{says}"
        );
        let printed = String::from_utf8(output.stdout).expect("cargo prints JSON");
        let file = printed
            .lines()
            .filter_map(|line| line.split('"').find(|word| word.ends_with("sameness.wasm")))
            .next_back()
            .expect("cargo names what it built");
        std::fs::read(file).expect("the built module")
    })
}

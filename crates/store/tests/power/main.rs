//! Lost power and failing disks, on SQLite, with the file layer recorded and made to fail.
//!
//! `lost power`: every write, truncation and sync of a script is recorded; a crash is put between any
//! two of them, with what was not yet synced dropped, kept, kept in part or torn; each image must
//! open, hold all that was acknowledged, and lead to every head that was signed.
//! `failing disk`: one call after the other fails, once or for good; nothing may be acknowledged that
//! is not there afterwards, and after a failed sync nothing more is written at all.
//!
//! `cargo test -p rattlewatch-store --test power -- --images 100000 --seed 7 --every 1` runs all.

#[expect(dead_code, reason = "the other tests use more of it")]
#[path = "../conformance/devices.rs"]
mod devices;
mod failing;
mod lost;
mod script;
mod shim;

const IMAGES: u64 = 120;
/// Every how-many-th call is made to fail.
const EVERY: u64 = 37;

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    if arguments.iter().any(|argument| argument == "--list") {
        println!("power: test");
        return;
    }
    let number = |name: &str, default| {
        let at = arguments.iter().position(|argument| argument == name);
        let value = at.and_then(|at| arguments.get(at + 1));
        value.map_or(default, |value| value.parse().expect("a number follows the option"))
    };
    let (images, seed) = (number("--images", IMAGES), number("--seed", 1));
    shim::register();
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().unwrap();
    runtime.block_on(async {
        lost::run(images, seed).await;
        failing::run(number("--every", EVERY)).await;
    });
}

//! `rattlewatch-fuzz`: without a fuzzer around it, lists the targets or gives a target files to read, one by one, so
//! that what a campaign found can be looked at in an ordinary build.
#![cfg_attr(fuzzing, no_main)]

#[cfg(fuzzing)]
mod under_fuzzer;

#[cfg(not(fuzzing))]
fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let Some((name, files)) = arguments.split_first() else {
        for target in fuzz::TARGETS {
            println!("{:<11}{}", target.name, target.says);
        }
        return;
    };
    let Some(target) = fuzz::target(name) else {
        eprintln!("no target {name:?}; without an argument they are listed");
        std::process::exit(2);
    };
    for file in files {
        match std::fs::read(file) {
            Ok(bytes) => {
                (target.reads)(&bytes);
                println!("{file}: holds");
            }
            Err(error) => {
                eprintln!("{file}: {error}");
                std::process::exit(2);
            }
        }
    }
}

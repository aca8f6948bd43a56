//! `cargo x night FILE -o BUNDLE.zip`: writes the record that a night tells, as a bundle.

use std::path::PathBuf;
use std::process::ExitCode;

const USAGE: &str =
    "usage: cargo x night FILE.night -o BUNDLE.zip\n       cargo x night --sentences";

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let outcome = match args.iter().map(String::as_str).collect::<Vec<_>>().as_slice() {
        ["--sentences"] => {
            night::sentences().for_each(|sentence| println!("{sentence}"));
            Ok(())
        }
        [file, "-o", out] | ["-o", out, file] => write(&PathBuf::from(file), &PathBuf::from(out)),
        _ => Err(USAGE.to_owned()),
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(says) => {
            eprintln!("{says}");
            ExitCode::FAILURE
        }
    }
}

fn write(file: &PathBuf, out: &PathBuf) -> Result<(), String> {
    let text =
        std::fs::read_to_string(file).map_err(|error| format!("{}: {error}", file.display()))?;
    let record = night::tell(&text).map_err(|fault| format!("{}: {fault}", file.display()))?;
    let bytes = record.bundle().map_err(|fault| format!("no bundle can be made of it: {fault}"))?;
    std::fs::write(out, bytes).map_err(|error| format!("{}: {error}", out.display()))?;
    println!("{}: {} lines of watch {}", out.display(), record.lines.len(), record.watch);
    Ok(())
}

//! `rattlewatch import FILE`: a plan out of somebody else's drawing.

mod archive;

use anyhow::{Context, Result};
use floorplan::import::{self, Format, Wishes};
use std::path::PathBuf;
use std::process::ExitCode;

/// Make a plan out of a drawing, and say what was understood, guessed and dropped
///
/// Ends with 0 when the plan can be used, 1 when the plan was written but something in it must be put right first,
/// 2 when no plan could be made.
#[derive(clap::Args)]
pub(crate) struct Args {
    /// The drawing; for geojson with a mapping and for dxf one file a level, lowest first; for imdf the zip or folder
    #[arg(required = true)]
    files: Vec<PathBuf>,
    /// Its format: indoor-tagging, osm-xml, indoorgml, geojson, dxf, imdf; recognised from the content when not given
    #[arg(long = "as", value_name = "FORMAT")]
    format: Option<String>,
    /// What its layers or properties mean, a TOML file (for geojson and dxf)
    #[arg(long, value_name = "MAPPING")]
    map: Option<PathBuf>,
    /// Where the plan goes; standard output when not given
    #[arg(short, long, value_name = "PLAN")]
    out: Option<PathBuf>,
    /// The name of the site; the name of the file when not given
    #[arg(long)]
    name: Option<String>,
    /// The longest gap given to every zone, in seconds
    #[arg(long, default_value_t = 1800, value_name = "SECONDS")]
    gap: u32,
}

pub(crate) fn run(args: Args) -> Result<ExitCode> {
    let mapping = match &args.map {
        Some(path) => Some(
            std::fs::read_to_string(path).with_context(|| format!("reading {}", path.display()))?,
        ),
        None => None,
    };
    let format = args.format.as_deref().map(Format::named).transpose()?;
    let stem = |path: &PathBuf| {
        path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default()
    };
    let name = args.name.clone().unwrap_or_else(|| stem(&args.files[0]));
    let wishes = Wishes { name, gap_s: args.gap, ..Wishes::default() };
    let mut contents = Vec::new();
    for path in &args.files {
        contents.extend(archive::files(path)?);
    }
    let files: Vec<(&str, &[u8])> =
        contents.iter().map(|(name, bytes)| (name.as_str(), bytes.as_slice())).collect();
    let imported = import::read_all(&files, format, mapping.as_deref(), &wishes)?;
    match &args.out {
        Some(path) => std::fs::write(path, imported.plan.pretty())
            .with_context(|| format!("writing {}", path.display()))?,
        None => super::put(&imported.plan.pretty())?,
    }
    eprint!("{}", imported.report);
    let faults = imported.plan.check();
    faults.iter().for_each(|fault| eprintln!("{fault}"));
    Ok(if faults.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

//! Sets one paper from a bundle, to look at the page:
//! `cargo run -p rattlewatch-report --example paper -- night BUNDLE.zip page.pdf en`.

use report::{Copy, Issue, Kind, Paper, Request, from_bundle};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [kind, from, out, lang] = args.as_slice() else {
        return Err("usage: paper KIND BUNDLE.zip OUT.pdf LANG".into());
    };
    let folded = from_bundle(bundle::open(&std::fs::read(from)?))?;
    let about_ms = folded.last_rx_ms.unwrap_or(0);
    for kind in Kind::ALL.iter().filter(|known| known.name() == kind || kind == "all") {
        let request = Request {
            watch: &folded.watch,
            about_ms,
            stretch: None,
            documents: &folded.documents,
            head: folded.head.clone(),
            unaltered: folded.unaltered,
            copy: Copy::House,
            issue: Issue::first(about_ms),
            amends: None,
            lang: words::Lang::from_tag(lang),
            paper: Paper::A4,
            bundle: None,
        };
        let out = out.replace("KIND", kind.name());
        std::fs::write(out, kind.to_pdf(&request, kind.name())?)?;
    }
    Ok(())
}

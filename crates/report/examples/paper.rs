//! Sets one paper from a bundle, to look at the page:
//! `cargo run -p rattlewatch-report --example paper -- night BUNDLE.zip page.pdf en`.

use report::{Kind, Request, from_bundle};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [kind, from, out, lang] = args.as_slice() else {
        return Err("usage: paper KIND BUNDLE.zip OUT.pdf LANG".into());
    };
    let folded = from_bundle(bundle::open(&std::fs::read(from)?))?;
    for kind in Kind::ALL.iter().filter(|known| known.name() == kind || kind == "all") {
        let request = Request { lang: words::Lang::from_tag(lang), ..folded.whole() };
        let out = out.replace("KIND", kind.name());
        std::fs::write(out, kind.to_pdf(&request, kind.name())?)?;
    }
    Ok(())
}
